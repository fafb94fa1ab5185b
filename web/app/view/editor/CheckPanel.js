// What the checks say about the garment: seams, curves, measures, findings.

import * as board from "../../state/board.js";
import * as store from "../../state/garments.js";
import { edgeName, edgeNames, changeSeam, pairEdge, removePair, share, sideName, turned } from "../../state/pairing.js";
import { texts } from "../../texts.js";
import { html } from "../html.js";
import { Icon } from "../icons.js";
import { Choice, LengthField, TextField, len } from "../lengths.js";
import { tickStep } from "../../model/walk.js";
import { Cloths } from "./Cloths.js";
import { Measures } from "./Measures.js";
import { One } from "./Panel.js";

/** @import {CurvePair, CurveRow, Run, SeamPair, SeamRow} from "../../types" */

const T = texts.check;

export function CheckPanel() {
  const r = board.report.value, lists = board.lists.value, trouble = board.trouble.value;
  return html`<section aria-labelledby="check-title"><div class="row spread"><h2 id="check-title">${T.title}</h2>
      <span class="both"><${Back} /></span></div>
    <fieldset class="seg-box"><legend>${T.mode}</legend><div class="seg">${/** @type {const} */ (["seam", "curve"]).map((m) => html`<label key=${m}><input type="radio" name="pair-mode" checked=${board.mode.value === m} onChange=${() => { board.mode.value = m; board.held.value = null; }} /><span>${T.modes[m]}</span></label>`)}</div></fieldset>
    <p role="status" class="quiet">${board.adding.value ? T.addNow : board.held.value ? T.first(edgeName(board.held.value)) : T.how}</p>
    <${FromList} />
    ${trouble && html`<div class="note error" role="alert"><${Icon} name="error" /><div><strong>${trouble.title}</strong><p>${trouble.remedy}</p></div></div>`}
    ${!r && !trouble && html`<p>${T.loading}</p>`}
    <h3>${T.seams}</h3>
    ${lists.seam_pairs.length === 0 ? html`<p class="quiet">${T.noSeams}</p>` : html`<ol class=${`edge-list ${board.checking.value ? "stale" : ""}`}>${lists.seam_pairs.map((s, i) => html`<${Seam} key=${s.id} pair=${s} n=${i} row=${r?.seams.find((x) => x.id === s.id)} />`)}</ol>`}
    ${lists.curve_pairs.length > 0 && html`<h3>${T.curves}</h3><ol class="edge-list">${lists.curve_pairs.map((c) => html`<${Curve} key=${c.id} pair=${c} row=${r?.curves?.find((x) => x.id === c.id)} />`)}</ol>`}
  </section>
  <${Measures} />
  <${Cloths} />
  ${r?.elastics?.length ? html`<section><h2>${T.elastics}</h2><ul>${r.elastics.map((e, i) => html`<li key=${i}><strong>${e.name}</strong>: ${T.cutLong(len(e.length_mm))}, ${T.laidFlat(len(e.opening_mm))}</li>`)}</ul></section>` : null}
  ${r && html`<section aria-labelledby="found-title"><h2 id="found-title">${T.findings}</h2>
    ${r.findings.length === 0 ? html`<p class="quiet">${T.nothing}</p>` : html`<ul class="findings">${r.findings.map((f, i) => html`<li key=${i}><${One} finding=${{ ...f, where_mm: undefined }} /></li>`)}</ul>`}</section>`}`;
}

/** Undo and redo of what is sewn together. */
const Back = () => html`<button type="button" aria-label=${`${T.undo}${board.undoable.value ? `: ${board.undoable.value}` : ""}`} disabled=${!board.undoable.value} onClick=${board.undo}><${Icon} name="undo" /></button>
  <button type="button" aria-label=${`${T.redo}${board.redoable.value ? `: ${board.redoable.value}` : ""}`} disabled=${!board.redoable.value} onClick=${board.redo}><${Icon} name="redo" /></button>`;

/** The same without a pointer. */
function FromList() {
  const all = [...edgeNames([...store.pieces.value.values()])];
  return html`<details class="from-list"><summary>${T.list}</summary>
    <${Choice} label=${T.choose} value="" options=${[["", "–"], ...all]} change=${(/** @type {string} */ v) => { const [piece, edge] = v.split(" "); if (edge) pairEdge({ piece, edge }); }} /></details>`;
}

/** @param {{ pair: SeamPair, n: number, row: SeamRow | undefined }} props */
function Seam({ pair: s, n, row }) {
  const on = board.open.value === s.id;
  const state = !row ? "wait" : !row.known ? "ask" : row.ok ? "ok" : "bad", word = { wait: "", ask: T.unknown, ok: T.ok, bad: T.bad }[state];
  return html`<li class=${on ? "on" : ""}><button type="button" class="edge-head" aria-expanded=${on} onClick=${() => { board.open.value = on ? null : s.id; board.mode.value = "seam"; }}>
      <span class="round" data-pair=${n % 8}>${n + 1}</span>
      <span class="edge-name"><strong>${s.name}</strong><span class=${state === "bad" || state === "ask" ? "flag" : "quiet"}>${word}${row?.known && Math.abs(row.off_mm) >= 0.05 ? `, ${row.ok ? T.offBy(len(Math.abs(row.off_mm))) : row.off_mm > 0 ? T.longer(len(row.off_mm)) : T.shorter(len(-row.off_mm))}` : ""}</span></span>
      ${state !== "wait" && html`<span class=${`state-${state}`}><${Icon} name=${{ ask: "warning", ok: "check", bad: "error" }[state]} /></span>`}<${Icon} name=${on ? "up" : "next"} /></button>
    ${on && html`<${SeamForm} pair=${s} row=${row} />`}</li>`;
}

/** @param {{ pair: SeamPair, row: SeamRow | undefined }} props */
function SeamForm({ pair: s, row }) {
  /** @param {Partial<SeamPair>} change */
  const set = (change) => changeSeam(s.id, change);
  return html`<div class="edge-form">
    ${row && html`<table><thead><tr><th scope="col">${T.sides.a}</th><th scope="col">${T.sides.b}</th><th scope="col">${T.off}</th><th scope="col">${T.limit}</th></tr></thead>
      <tbody><tr><td>${len(row.a_mm)}</td><td>${len(row.b_mm)}</td><td>${len(row.off_mm)}</td><td>${len(row.limit_mm)}</td></tr></tbody></table>`}
    ${row && html`<${Strip} row=${row} />`}
    ${row?.known && Math.abs(row.off_mm) >= 0.1 && html`<div class="offers"><button type="button" class=${row.ok ? "" : "main"} onClick=${() => share(s, row.off_mm, "both")}>${T.share(len(Math.abs(row.off_mm)))}</button>
      ${/** @type {const} */ (["a", "b"]).map((side) => html`<button type="button" key=${side} onClick=${() => share(s, row.off_mm, side)}>${T.giveTo(sideName(s, side))}</button>`)}<p class="quiet">${T.shareHow}</p></div>`}
    ${row?.known && !row.ok && Math.abs(row.off_mm) > row.limit_mm && html`<button type="button" onClick=${() => set({ ease_mm: Math.round((row.a_mm - row.b_mm) * 10) / 10 })}>${T.meant(len(Math.abs(row.a_mm - row.b_mm)))}</button>`}
    ${/** @type {const} */ (["a", "b"]).map((side) => html`<div key=${side}><strong>${T.sides[side]}</strong><ul class="runs">${s[side].map((r) => html`<li key=${`${r.piece} ${r.edge}`}>${edgeName(r)}
      ${s[side].length > 1 && html`<button type="button" class="plain" aria-label=${T.dropEdge(edgeName(r))} onClick=${() => set({ [side]: s[side].filter((x) => x !== r) })}><${Icon} name="closeX" /></button>`}</li>`)}</ul></div>`)}
    <div class="row">${/** @type {const} */ (["a", "b"]).map((side) => html`<button type="button" key=${side} onClick=${() => (board.adding.value = { id: s.id, side })}>${T.addEdge[side]}</button>`)}</div>
    <button type="button" onClick=${() => set({ b: turned(s.b) })}>${T.reverse}</button><p class="quiet">${T.begins}</p>
    <${TextField} label=${texts.edges.name} value=${s.name} change=${(/** @type {string} */ v) => v && set({ name: v })} />
    <${LengthField} label=${T.ease} signed=${true} empty=${true} least=${-2000} most=${2000} value=${s.ease_mm ?? 0} change=${(/** @type {number | null} */ mm) => set({ ease_mm: mm ?? 0 })} />
    <${LengthField} label=${T.tolerance} most=${100} value=${s.tolerance_mm || row?.limit_mm || 1.6} change=${(/** @type {number} */ mm) => set({ tolerance_mm: mm })} />
    <button type="button" class="plain" onClick=${() => removePair(s.id)}><${Icon} name="bin" />${T.removeSeam}</button>
  </div>`;
}

/** Both sides of a seam as strips that are walked: ticks and notches along them, and their ends enlarged. @param {{ row: SeamRow }} props */
function Strip({ row }) {
  const most = Math.max(row.a_mm, row.b_mm, 1), parts = row.parts ?? [], apart = Math.abs(row.a_mm - row.b_mm), step = tickStep(most);
  // The last bit of both, so that what they end apart is to be seen.
  const bit = Math.min(most, Math.max(12, 4 * apart)), from = most - bit;
  /** @param {"a_mm" | "b_mm"} side @param {number} y @param {number} begin @param {number} k px a mm */
  const strip = (side, y, begin, k) => {
    let x = 0;
    const notches = parts.slice(0, -1).map((p) => (x += p[side])), ticks = Array.from({ length: Math.floor(row[side] / step) }, (_, i) => (i + 1) * step);
    const at = (/** @type {number[]} */ list, /** @type {string} */ d) => list.filter((v) => v >= begin).map((v) => `M${(v - begin) * k} ${y}${d}`).join("");
    return html`<rect class=${`strip-${side[0]}`} x="0" y=${y} width=${Math.max(0, row[side] - begin) * k} height="12" /><path class="strip-tick" d=${at(ticks, "v12")} /><path class="strip-notch" d=${at(notches, "m-4 -3l4 6 4 -6")} />`;
  };
  const short = Math.min(row.a_mm, row.b_mm), k = 240 / bit, y = row.a_mm < row.b_mm ? 52 : 70, x = (short - from) * k;
  return html`<svg class="strips" viewBox="-2 0 304 90" role="img" aria-label=${T.strip(len(row.a_mm), len(row.b_mm), len(apart))}>${strip("a_mm", 4, 0, 300 / most)}${strip("b_mm", 20, 0, 300 / most)}
      <path class="strip-zoom" d=${`M${(from / most) * 300} 34L0 50M300 34L240 50`} />${strip("a_mm", 52, from, k)}${strip("b_mm", 70, from, k)}
      ${apart >= 0.05 && html`<rect class="strip-off" x=${x} y=${y} width=${apart * k} height="12" /><text x="246" y="72">${len(apart)}</text>`}</svg>
    <p class="quiet">${T.tick(len(step))}</p>
    ${parts.length > 1 && html`<p class="quiet">${T.parts}: ${parts.map((p) => `${len(p.a_mm)} – ${len(p.b_mm)}`).join("; ")}</p>`}`;
}

/** @param {{ pair: CurvePair, row: CurveRow | undefined }} props */
function Curve({ pair: c, row }) {
  const on = board.open.value === c.id;
  return html`<li class=${on ? "on" : ""}><button type="button" class="edge-head" aria-expanded=${on} onClick=${() => { board.open.value = on ? null : c.id; board.mode.value = "curve"; }}>
      <span class="edge-name"><strong>${c.name}</strong>${row && html`<span class="quiet">${T.across} ${len(row.apart_mm)}</span>`}</span><${Icon} name=${on ? "up" : "next"} /></button>
    ${on && html`<div class="edge-form">${row && html`<${Overlay} row=${row} />
      <table><thead><tr><th></th><th scope="col">${T.chord}</th><th scope="col">${T.arc}</th><th scope="col">${T.deep}</th></tr></thead><tbody>
      ${[c.a, c.b].map((/** @type {Run} */ r, i) => { const s = i ? row.b : row.a; return html`<tr key=${i}><th scope="row">${edgeName(r)}</th><td>${len(s.chord_mm)}</td><td>${len(s.length_mm)}</td><td>${len(s.depth_mm)}</td></tr>`; })}</tbody></table>`}
      <button type="button" class="plain" onClick=${() => removePair(c.id)}><${Icon} name="bin" />${T.remove}</button></div>`}</li>`;
}

/** Both curves laid on their chords. @param {{ row: CurveRow }} props */
function Overlay({ row }) {
  const all = [...row.a.points_mm, ...row.b.points_mm], w = Math.max(...all.map((p) => p[0]), 1), top = Math.max(...all.map((p) => p[1]), 1), low = Math.min(...all.map((p) => p[1]), 0), pad = w / 30;
  /** @param {[number, number][]} pts */
  const d = (pts) => pts.map(([x, y], i) => `${i ? "L" : "M"}${x} ${-y}`).join("");
  const font = w / 22;
  /** The depth of a curve, where it is deepest. @param {import("../../types").CurveShape} c @param {string} cls @param {number} side */
  const deep = (c, cls, side) => {
    const [x, y] = c.points_mm.reduce((m, p) => (Math.abs(p[1]) > Math.abs(m[1]) ? p : m), [0, 0]);
    return html`<path class=${cls} d=${`M${x} 0V${-y}`} /><text class=${cls} font-size=${font} text-anchor=${side < 0 ? "end" : "start"} x=${x + (side * font) / 3} y=${-y / 2 + (side * font) / 1.6}>${len(c.depth_mm)}</text>`;
  };
  return html`<svg class="curves" viewBox=${`${-pad} ${-top - pad} ${w + 2 * pad} ${top - low + 2 * pad}`} role="img" aria-label=${T.overlay(len(row.a.depth_mm), len(row.b.depth_mm), len(row.apart_mm))}>
    <path class="chord" d=${`M0 0H${w}`} />${deep(row.a, "deep-a", -1)}${deep(row.b, "deep-b", 1)}<path class="curve-a" d=${d(row.a.points_mm)} /><path class="curve-b" d=${d(row.b.points_mm)} /></svg>`;
}
