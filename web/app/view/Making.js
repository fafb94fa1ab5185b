// The making sheet: what one works from at the cutting table and the machine.

import { useEffect, useRef, useState } from "preact/hooks";
import { makingURL } from "../api.js";
import { unit } from "../state/app.js";
import * as store from "../state/garments.js";
import * as M from "../state/making.js";
import { texts } from "../texts.js";
import { Trouble } from "./App.js";
import { html } from "./html.js";
import { Icon } from "./icons.js";
import { SwatchPicture } from "./lay/Swatch.js";
import { Choice, UnitChoice, len } from "./lengths.js";

/** @import {Making as Sheet} from "../lay" */

const T = texts.making;
const PAPERS = /** @type {const} */ (["a4", "letter", "a3", "tabloid"]);

/** @param {{ id: string }} props */
export function Making({ id }) {
  useEffect(() => store.openGarment(id), [id]);
  useEffect(() => M.open(id), [id]);
  const g = store.garment.value, m = M.making.value, trouble = store.trouble.value ?? M.trouble.value;
  useEffect(() => { if (g?.id === id) void M.load(id); }, [id, g?.version, unit.value]);
  useEffect(() => { if (g) document.title = `${T.title} – ${g.name} – ${texts.product}`; }, [g?.name]);
  return html`<main class="page making" tabindex="-1">
    <a class="back" href=${`#/garment/${id}`}><${Icon} name="back" />${g?.name ?? texts.lay.back}</a>
    <div class="row spread"><h1>${T.title}</h1><${UnitChoice} /></div>
    ${trouble && html`<${Trouble} ...${trouble} again=${() => M.load(id)} />`}
    ${!m && !trouble && html`<p>${texts.loading}</p>`}
    ${m && html`<p class="lead">${m.title}</p><p class="quiet">${m.facts.join(" · ")}</p><p>${T.how}</p><${Files} id=${id} /><${Cutting} id=${id} m=${m} /><${Sewing} id=${id} m=${m} />`}
  </main>`;
}

/** @param {{ id: string }} props */
function Files({ id }) {
  const [paper, setPaper] = useState(/** @type {string} */ ("a4")), query = { paper, unit: unit.value };
  return html`<div class="slip making-files"><${Choice} label=${T.paper} value=${paper} options=${PAPERS.map((p) => [p, texts.printing.papers[p]])} change=${setPaper} />
    <div class="row"><a class="button main" href=${makingURL(id, query)} download><${Icon} name="down" />${T.pdf}</a>
    <${Whole} id=${id} what=${query} /></div>
    ${M.set.value.job && html`<p role="status" class="preparing"><${Icon} name="dots" />${T.setRunning}</p>`}
    <p class="quiet">${texts.editor.pdfHow}</p></div>`;
}

/** The whole set, which takes a job to draw. @param {{ id: string, what: { paper: string, unit: string } }} props */
function Whole({ id, what }) {
  const s = M.set.value, link = useRef(/** @type {HTMLAnchorElement | null} */ (null)), { paper, unit: u } = what, asked = useRef("");
  useEffect(() => M.leaveSet, [id, paper, u]);
  useEffect(() => { if (s.file && asked.current !== s.file) { asked.current = s.file; link.current?.click(); } }, [s.file]);
  if (s.job) return html`<button type="button" onClick=${M.stopSet}>${T.setStop}</button>`;
  if (s.file) return html`<a ref=${link} class="button" href=${s.file} download><${Icon} name="down" />${T.setDone}</a>`;
  return html`<button type="button" onClick=${() => M.drawSet(id, what)}><${Icon} name="down" />${T.set}</button>`;
}

/** A part of the sheet; nothing where it is empty. @param {{ title: string, some: number, how?: string, children?: any }} props */
const Part = ({ title, some, how, children }) => some > 0 ? html`<section><h2>${title}</h2>${how && html`<p class="quiet">${how}</p>`}${children}</section>` : null;

/** @param {{ rows: readonly (readonly unknown[])[], head: readonly string[] }} props */
const Rows = ({ rows, head }) => html`<div class="wide-table" tabindex="0" role="group" aria-label=${head[0]}><table><thead><tr>${head.map((h) => html`<th key=${h} scope="col">${h}</th>`)}</tr></thead>
  <tbody>${rows.map((r, i) => html`<tr key=${i}>${r.map((v, k) => (k === 0 ? html`<th scope="row">${v}</th>` : html`<td key=${k} data-head=${head[k]}>${v}</td>`))}</tr>`)}</tbody></table></div>`;

/** @param {{ id: string, m: Sheet }} props */
const Cutting = ({ id, m }) => html`
  <${Part} title=${T.prepare} some=${m.prepare.length}><ul class="plain-list">${m.prepare.map((p) => html`<li key=${p}>${p}</li>`)}</ul></${Part}>
  <${Part} title=${T.cloths} some=${m.cloths.length}><ul class="plain-list">${m.cloths.map((c) => html`<li key=${c.id}><strong>${c.name}</strong> ${c.text}</li>`)}</ul>
    <a class="button" href=${`#/garment/${id}/lay`}><${Icon} name="lay" />${m.cloths.some((c) => c.plan) ? T.layoutIs : T.toLay}</a></${Part}>
  <${Part} title=${T.pieces} some=${m.pieces.length} how=${T.letterHow}><${Rows} head=${[T.piece, T.letter, T.cut, T.cloth, T.side]} rows=${m.pieces.map((p) => [p.name, p.letter, p.cut, p.cloth, p.side])} /></${Part}>
  <${Part} title=${T.notions} some=${m.notions.length}><ul class="plain-list">${m.notions.map((n) => html`<li key=${n.name}><strong>${n.count} × ${n.name}:</strong> ${n.text}</li>`)}</ul></${Part}>
  <${Part} title=${T.marks} some=${m.marks.length} how=${T.marksHow}><${Rows} head=${[T.piece, T.letter, T.marks]} rows=${m.marks.map((x) => [x.piece, x.letter, x.text])} /></${Part}>
  <${Part} title=${T.changes} some=${m.changes.length}><ul class="plain-list">${m.changes.map((p) => html`<li key=${p}>${p}</li>`)}</ul></${Part}>`;

/** @param {{ id: string, m: Sheet }} props */
const Sewing = ({ id, m }) => html`
  <${Part} title=${T.seams} some=${m.seams.length}><${Rows} head=${[T.seam, T.a, T.b, T.allowance, T.notches]}
    rows=${m.seams.map((s) => [s.name, `${s.a} (${len(s.a_mm)})`, `${s.b} (${len(s.b_mm)})`, [...new Set([s.allowance_a, s.allowance_b])].join(" / ") + (s.ease_mm ? `, ${(s.ease_mm > 0 ? T.ease : T.easeOther)(len(Math.abs(s.ease_mm)))}` : ""), s.notches || ""])} /></${Part}>
  <${Part} title=${T.edges} some=${m.edges.length}><${Rows} head=${[T.piece, T.edge, T.finish]} rows=${m.edges.map((e) => [e.piece, e.edge, e.text])} /></${Part}>
  <${Part} title=${T.steps} some=${m.steps.length} how=${T.stepsHow}><ol class="making-steps">${m.steps.map((s, i) => html`<li key=${s.text}><label class="inline"><input type="checkbox" checked=${M.done.value.has(s.text)} onChange=${() => M.tick(id, s.text)} />
    <span>${i + 1}. ${s.text}${s.why && html`<span class="quiet"> ${s.why}</span>`}</span></label></li>`)}</ol></${Part}>
  ${m.cautions.length > 0 && html`<section><h2>${T.cautions}</h2>${m.cautions.map((c) => html`<p key=${c.message} class="note warning"><span>${c.message} ${c.remedy ?? ""}</span></p>`)}</section>`}
  <${Part} title=${T.swatches} some=${m.swatches.length} how=${T.swatch}><ul class="swatches">${m.swatches.map((s) => html`<li key=${s.name}>${s.picture ? html`<${SwatchPicture} garment=${id} ...${s} />` : html`<span class="swatch-photo"></span>`}<span>${s.name}</span></li>`)}</ul></${Part}>`;
