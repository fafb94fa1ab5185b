// Grain, marks and label of a piece.

import { addMark, changeMark, removeMark } from "../../actions/marks.js";
import { chainLength } from "../../geom/arc.js";
import { distance } from "../../geom/vec.js";
import { freshName, spanOf, spans } from "../../model/edges.js";
import { grainOf, newMark, seenNotches } from "../../model/marks.js";
import * as ed from "../../state/editor.js";
import { traceOf } from "../../state/session.js";
import { texts } from "../../texts.js";
import { take } from "../../tools/index.js";
import { html } from "../html.js";
import { Icon } from "../icons.js";
import { Choice, LengthField, TextField, len } from "../lengths.js";
import { LabelForm } from "./LabelForm.js";

/** @import {Doc, Mark, MarkKind} from "../../types" */

const T = texts.marks, L = texts.editor.labels;
const KINDS = /** @type {MarkKind[]} */ (["notch", "drill-hole", "fold-line", "stitch-line", "line", "buttonhole", "lengthen-line", "dart", "snip", "text"]);

/** @param {MarkKind} kind */
function begin(kind) {
  take("place");
  ed.placing.value = { kind, points: [] };
}

export function MarksPanel() {
  const doc = ed.settled.value;
  if (!doc) return null;
  const marks = doc.marks.filter((m) => m.kind !== "grain");
  return html`<${Grain} doc=${doc} />
    <section aria-labelledby="marks-title"><h2 id="marks-title">${T.title}</h2>
      <div class="chips" role="group" aria-label=${T.add}>${KINDS.map((k) => html`<button type="button" key=${k} class="chip" aria-pressed=${ed.placing.value?.kind === k} onClick=${() => begin(k)}><${Icon} name="plus" />${T.kinds[k]}</button>`)}</div>
      <${Cuts} doc=${doc} />
      <h3>${T.list}</h3>
      ${marks.length === 0 && html`<p class="quiet">${T.none}</p>`}
      <ul class="edge-list">${marks.map((m) => html`<${Row} key=${m.id} doc=${doc} mark=${m} />`)}</ul>
    </section>
    <${LabelForm} doc=${doc} />`;
}

/** Cuts in the edge that the photo shows, offered as notches. @param {{ doc: Doc }} props */
function Cuts({ doc }) {
  const seen = seenNotches(doc, traceOf(doc));
  if (seen.length === 0) return null;
  return html`<h3>${T.seenTitle}</h3><p class="quiet how-to">${T.seenHow}</p>
    <ul class="edge-list">${seen.map(({ mark: m, on, along, deep, sure }) => html`<li key=${`${m.edge} ${m.at}`}><div class="edge-form"><p>${T.seen(len(deep), on, len(along), sure)}</p>
      <button type="button" onClick=${() => { ed.perform(addMark(m), L.addMark); ed.markId.value = m.id; }}><${Icon} name="plus" />${T.seenTake}</button></div></li>`)}</ul>`;
}

/** @param {{ doc: Doc }} props */
function Grain({ doc }) {
  const m = doc.marks.find((x) => x.kind === "grain"), deg = grainOf(doc), photo = ed.photo.value !== null, seen = photo ? doc.sure.grain : null;
  /** @param {Mark} mark */
  const take = (mark) => ed.perform(addMark(mark), L.addMark);
  const id = freshName(doc.marks, "grain");
  /** @param {number} d the arrow as two points, so that it can be dragged */
  const line = (d) => {
    const made = arrow(doc, d, id);
    if (made) take(made);
  };
  const taken = seen && deg !== null && Math.abs(((deg - seen.deg + 270) % 180) - 90) < 0.1;
  return html`<section aria-labelledby="grain-title"><h2 id="grain-title">${T.grainTitle}</h2>
    ${deg === null ? html`<p class="note warning"><span>${T.grainNone}</span></p>` : html`<p>${T.grainHas(deg, photo)}</p>`}
    <p class="quiet" role="status">${!photo ? "" : taken ? T.grainTaken(seen.sure) : seen ? T.grainSeen(seen.sure) : T.grainNotSeen}</p>
    <div class="row">
      ${seen && !taken && html`<button type="button" class=${deg === null && seen.sure >= 0.6 ? "main" : ""} onClick=${() => line(seen.deg)}>${T.grainTake}</button>`}
      <button type="button" onClick=${() => begin("grain")}>${T.grainDraw}</button>
      <button type="button" onClick=${() => line(90)}>${photo ? T.grainUpright : T.grainUp}</button>
    </div>
    <${Choice} label=${T.grainEdge} value=${m?.edge ?? ""} options=${[["", "–"], ...spans(doc).map((s) => [s.edge.id, s.edge.name])]} change=${(/** @type {string} */ edge) => edge && take({ id, kind: "grain", edge })} />
    ${m && html`<label class="inline"><input type="checkbox" checked=${m.bias ?? false} onChange=${(/** @type {any} */ e) => ed.perform(changeMark(m.id, { bias: e.currentTarget.checked || undefined }), L.changeMark)} />${T.bias}</label>`}
  </section>`;
}

/** A grain line through the middle of the piece. @param {Doc} doc @param {number} deg @param {string} id @returns {Mark | null} */
function arrow(doc, deg, id) {
  const ring = doc.rings[0].map((k) => k.at), xs = ring.map((p) => p.x), ys = ring.map((p) => p.y);
  const c = { x: (Math.min(...xs) + Math.max(...xs)) / 2, y: (Math.min(...ys) + Math.max(...ys)) / 2 };
  const ux = Math.cos((deg * Math.PI) / 180), uy = Math.sin((deg * Math.PI) / 180), reach = 0.3 * Math.min(...[Math.max(...xs) - Math.min(...xs), Math.max(...ys) - Math.min(...ys)]);
  const made = newMark(doc, "grain", [{ x: c.x - reach * ux, y: c.y - reach * uy }, { x: c.x + reach * ux, y: c.y + reach * uy }], "");
  return made && { ...made, id };
}

/** @param {{ doc: Doc, mark: Mark }} props */
function Row({ doc, mark: m }) {
  const on = ed.markId.value === m.id, edge = m.edge ? spanOf(doc, m.edge)?.edge.name : "";
  return html`<li class=${on ? "on" : ""}>
    <button type="button" class="edge-head" aria-expanded=${on} onClick=${() => { ed.markId.value = on ? null : m.id; }}>
      <span class="edge-name"><strong>${T.kinds[m.kind]}</strong><span class="quiet">${[edge, m.text].filter(Boolean).join(", ")}</span></span>
      ${m.detached && html`<${Icon} name="warning" />`}<${Icon} name=${on ? "up" : "next"} /></button>
    ${m.detached && html`<p class="flag">${T.detached(m.detached)}</p>`}
    ${on && html`<${Form} doc=${doc} mark=${m} />`}
  </li>`;
}

/** @param {{ doc: Doc, mark: Mark }} props */
function Form({ doc, mark: m }) {
  /** @param {Partial<Mark>} change */
  const set = (change) => ed.perform(changeMark(m.id, change), L.changeMark);
  const notch = m.kind === "notch", dart = m.kind === "dart", span = m.edge ? spanOf(doc, m.edge) : null, whole = span ? chainLength(span.chain) : 0;
  const [a, b] = m.points ?? [];
  return html`<div class="edge-form">
    ${(notch || dart || m.kind === "snip") && html`<${Choice} label=${T.edge} value=${m.edge ?? ""} options=${spans(doc).map((s) => [s.edge.id, s.edge.name])} change=${(/** @type {string} */ edge) => set({ edge, detached: undefined })} />`}
    ${(notch || dart) && span && html`<${LengthField} label=${T.from(len(whole))} value=${(m.at ?? 0) * whole} least=${0} most=${whole} change=${(/** @type {number} */ mm) => set({ at: mm / whole })} />`}
    ${dart && html`<${LengthField} label=${T.takesIn} value=${m.width_mm ?? 0} least=${1} most=${300} change=${(/** @type {number} */ mm) => set({ width_mm: mm })} /><p class="quiet how-to">${T.dartHow}</p>`}
    ${notch && span && html`<${Choice} label=${T.count} value=${String(m.count ?? 1)} options=${[["1", T.counts[1]], ["2", T.counts[2]], ["3", T.counts[3]]]} change=${(/** @type {string} */ v) => set({ count: +v })} />
      <${Choice} label=${T.shape} value=${m.shape ?? "slit"} options=${Object.entries(T.shapes)} change=${(/** @type {"slit" | "v" | "t"} */ shape) => set({ shape })} />
      <${LengthField} label=${T.depth} value=${m.depth_mm ?? 5} most=${20} change=${(/** @type {number} */ mm) => set({ depth_mm: mm })} />
      <label class="inline"><input type="checkbox" checked=${m.outward ?? false} onChange=${(/** @type {any} */ e) => set({ outward: e.currentTarget.checked || undefined })} />${T.outward}</label>`}
    <${TextField} label=${m.kind === "text" ? T.textOf : T.text} value=${m.text ?? ""} change=${(/** @type {string} */ v) => (v || m.kind !== "text") && set({ text: v || undefined })} />
    ${a && b && m.points?.length === 2 && html`<${LengthField} label=${T.lineLength} value=${distance(a, b)} change=${(/** @type {number} */ mm) => set({ points: [a, { x: a.x + ((b.x - a.x) * mm) / distance(a, b), y: a.y + ((b.y - a.y) * mm) / distance(a, b) }] })} />`}
    <button type="button" class="plain" onClick=${() => ed.perform(removeMark(m.id), L.removeMark)}><${Icon} name="bin" />${T.remove}</button>
  </div>`;
}
