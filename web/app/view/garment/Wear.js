// Wear: what twins and seams would correct, before and after, edge by edge.

import { useEffect, useId, useState } from "preact/hooks";
import { unit } from "../../state/app.js";
import * as store from "../../state/garments.js";
import * as W from "../../state/wear.js";
import { texts } from "../../texts.js";
import { Trouble } from "../App.js";
import { html } from "../html.js";
import { Icon } from "../icons.js";
import { UnitChoice, len } from "../lengths.js";

/** @import {Finding, Move, Outline, Reconciled, Seam, Twins} from "../../wear" */

const T = texts.wear;
/** What a move is drawn larger by: a few tenths of a millimetre cannot be seen. */
const LARGER = 20;

/** Moves are finer than what lengths are written to. @param {number} mm */
const fine = (mm) => (unit.value === "in" ? `${(mm / 25.4).toFixed(3)}\u00a0in` : `${mm.toFixed(2)}\u00a0mm`);

/** @param {{ id: string }} props */
export function Wear({ id }) {
  useEffect(() => store.openGarment(id), [id]);
  useEffect(() => W.open(id), [id]);
  const g = store.garment.value, r = W.found.value, trouble = store.trouble.value ?? W.trouble.value;
  useEffect(() => { if (g?.id === id) void W.compare(); }, [id, g?.version]);
  useEffect(() => { if (g) document.title = `${T.open} – ${g.name} – ${texts.product}`; }, [g?.name]);
  return html`<main class="page wear" tabindex="-1">
    <a class="back" href=${`#/garment/${id}`}><${Icon} name="back" />${g?.name ?? texts.lay.back}</a>
    <div class="row spread"><h1>${T.title}</h1><${UnitChoice} /></div>
    <p>${T.how}</p>
    ${trouble && html`<${Trouble} ...${trouble} again=${() => W.compare()} />`}
    ${!r && !trouble && html`<p>${texts.loading}</p>`}
    ${r && html`<${Mirrors} r=${r} /><${Moves} r=${r} /><${Seams} seams=${r.seams} /><${Notes} findings=${r.findings} />`}
  </main>`;
}

/** The pairs, and another one. @param {{ r: Reconciled }} props */
function Mirrors({ r }) {
  const pieces = r.outlines, [left, setLeft] = useState(pieces[0]?.piece ?? ""), [right, setRight] = useState(pieces[1]?.piece ?? pieces[0]?.piece ?? ""), id = useId();
  const name = (/** @type {string} */ p) => pieces.find((o) => o.piece === p)?.name ?? "";
  /** @param {string} label @param {string} value @param {(v: string) => void} set @param {string} key */
  const select = (label, value, set, key) => html`<div class="field-row"><label for=${id + key}>${label}</label><select id=${id + key} value=${value} onChange=${(/** @type {any} */ e) => set(e.currentTarget.value)}>
    ${pieces.map((o) => html`<option key=${o.piece} value=${o.piece} selected=${o.piece === value}>${o.name}</option>`)}</select></div>`;
  return html`<section class="slip" aria-labelledby="twins-title"><h2 id="twins-title">${T.twins}</h2>
    ${W.pairs.value.length === 0 && html`<p>${T.twinsNone}</p>`}
    <ul class="plain-list">${W.pairs.value.map((p) => {
      const t = r.twins.find((x) => x.a === p.a && x.b === p.b);
      return html`<li key=${W.pairKey(p)}><label class="inline"><input type="checkbox" checked=${!W.apart.value.has(W.pairKey(p))} onChange=${() => W.toggle(p)} />
        <span><strong>${T.twin(name(p.a), p.a === p.b ? T.half : name(p.b))}</strong> <span class="quiet">${t ? T.differ(fine(t.before_mm), fine(t.after_mm)) : T.apart}</span></span></label>
        ${t && html`<${Worn} t=${t} />`}</li>`;
    })}</ul>
    <details><summary>${T.another}</summary><div class="row">${select(T.left, left, setLeft, "l")}${select(T.right, right, setRight, "r")}
      <button type="button" disabled=${W.busy.value} onClick=${() => W.pair({ a: left, b: right })}><${Icon} name="twin" />${T.add}</button></div></details>
  </section>`;
}

/** Edges that differ by more than can be told from the photos. @param {{ t: Twins }} props */
function Worn({ t }) {
  const worn = t.edges.filter((e) => Math.abs(e.worst_mm) > e.limit_mm);
  if (worn.length === 0) return null;
  const same = t.a === t.b;
  return html`<p class="quiet">${T.borrowHow}</p><ul class="plain-list worn">${worn.map((e) => html`<li key=${e.edge}>
    <span>${e.name}: ${len(Math.abs(e.worst_mm))}</span>
    <button type="button" disabled=${W.busy.value} onClick=${() => W.borrow(t, { piece: t.a, edge: e.edge }, e.name)}>${T.borrowOf(e.name, t.a_name)}</button>
    ${!same && html`<button type="button" disabled=${W.busy.value} onClick=${() => W.borrow(t, { piece: t.b, edge: e.other }, e.other_name)}>${T.borrowOf(e.other_name, t.b_name)}</button>`}</li>`)}</ul>`;
}

/** @param {{ r: Reconciled }} props */
function Moves({ r }) {
  const n = W.chosen.value.length;
  if (r.moves.length === 0) return html`<section class="slip" aria-labelledby="moves-title"><h2 id="moves-title">${T.moves}</h2><p>${T.movesNone}</p></section>`;
  const moving = r.outlines.filter((o) => r.moves.some((m) => m.piece === o.piece));
  return html`<section aria-labelledby="moves-title"><div class="row spread"><h2 id="moves-title">${T.moves}</h2>
      <div class="row"><button type="button" class="plain" onClick=${() => W.choose(r.moves, true)}>${T.all}</button><button type="button" class="plain" onClick=${() => W.choose(r.moves, false)}>${T.none}</button></div></div>
    <p class="quiet">${T.picture(LARGER)}</p>
    ${moving.map((o) => html`<${Piece} key=${o.piece} o=${o} moves=${r.moves.filter((m) => m.piece === o.piece)} />`)}
    <div class="wear-accept"><button type="button" class="main" disabled=${n === 0 || W.busy.value} onClick=${W.accept}><${Icon} name="check" />${T.accept(n)}</button>
      <span role="status" class="quiet">${W.busy.value ? T.working : ""}</span></div>
  </section>`;
}

/** @param {{ o: Outline, moves: Move[] }} props */
const Piece = ({ o, moves }) => html`<fieldset class="slip wear-piece"><legend>${o.name}</legend>
  <${Drawing} o=${o} />
  <ul class="plain-list">${moves.map((m) => html`<li key=${m.edge}><label class="inline"><input type="checkbox" checked=${W.accepted(m)} onChange=${(/** @type {any} */ e) => W.choose([m], e.currentTarget.checked)} />
    <span><strong>${m.name}</strong> ${(m.most_mm > 0 ? T.out : T.in)(fine(Math.abs(m.most_mm)))} <span class="quiet">(${T.allowed(fine(m.allowed_mm))}); ${m.why.join("; ")}</span></span></label></li>`)}</ul>
</fieldset>`;

/** The outline as it is and as it would be. @param {{ o: Outline }} props */
function Drawing({ o }) {
  const xs = o.before_mm.map((p) => p[0]), ys = o.before_mm.map((p) => p[1]);
  const x = Math.min(...xs), y = Math.min(...ys), w = Math.max(...xs) - x, h = Math.max(...ys) - y;
  const scale = Math.min(260 / w, 240 / h), pad = 12, n = o.edges.length;
  /** @param {number[]} p */
  const at = ([px, py]) => `${(pad + (px - x) * scale).toFixed(1)} ${(pad + (y + h - py) * scale).toFixed(1)}`;
  const moved = o.before_mm.map((p, i) => (W.accepted({ piece: o.piece, edge: o.edges[i] }) || W.accepted({ piece: o.piece, edge: o.edges[(i + n - 1) % n] })
    ? [p[0] + LARGER * (o.after_mm[i][0] - p[0]), p[1] + LARGER * (o.after_mm[i][1] - p[1])] : p));
  /** Edge by edge, so that what is not chosen stays. @type {string[]} */
  const lines = [];
  o.edges.forEach((e, i) => { if (W.accepted({ piece: o.piece, edge: e })) lines.push(`M${at(moved[i])}L${at(moved[(i + 1) % n])}`); });
  return html`<svg class="wear-drawing" width=${w * scale + 2 * pad} height=${h * scale + 2 * pad} aria-hidden="true" focusable="false">
    <path class="was" d=${`M${o.before_mm.map(at).join("L")}Z`} /><path class="is" d=${lines.join("")} /></svg>`;
}

/** @param {{ seams: Seam[] }} props */
const Seams = ({ seams }) => seams.length > 0 ? html`<section class="slip" aria-labelledby="seams-title"><h2 id="seams-title">${T.seams}</h2>
  <div class="wide-table" tabindex="0" role="group" aria-label=${T.seams}><table><thead><tr><th scope="col">${T.seam}</th><th scope="col">${T.before}</th><th scope="col">${T.after}</th><th scope="col"></th></tr></thead>
  <tbody>${seams.map((s) => { const ok = Math.abs(s.after_mm) <= s.limit_mm; return html`<tr key=${s.id}><th scope="row">${s.name}</th><td data-head=${T.before}>${fine(Math.abs(s.before_mm))}</td><td data-head=${T.after}>${fine(Math.abs(s.after_mm))}</td>
    <td><span class=${ok ? "state" : "flag"}><${Icon} name=${ok ? "check" : "warning"} />${ok ? T.fits : T.not}</span></td></tr>`; })}</tbody></table></div></section>` : null;

/** @param {{ findings: Finding[] }} props */
const Notes = ({ findings }) => findings.length > 0 ? html`<section aria-labelledby="left-title"><h2 id="left-title">${T.notes}</h2>
  ${findings.map((f, i) => html`<div key=${i} class=${`note ${f.severity}`}><${Icon} name=${f.severity} /><div><p>${f.message}</p><p class="quiet">${f.remedy}</p></div></div>`)}</section>` : null;
