// Finished measures beside those of the body.

import { useState } from "preact/hooks";
import { readPiece } from "../../model/codec.js";
import { freshName } from "../../model/edges.js";
import { toPiece } from "../../model/plan.js";
import * as board from "../../state/board.js";
import * as store from "../../state/garments.js";
import { edgeName, edgeNames, removePair } from "../../state/pairing.js";
import { texts } from "../../texts.js";
import { html } from "../html.js";
import { Icon } from "../icons.js";
import { Choice, LengthField, NumberField, TextField, len } from "../lengths.js";

/** @import {Measure, MeasureRow} from "../../types" */

const T = texts.check;

export function Measures() {
  const all = board.lists.value.measures, rows = board.report.value?.measures ?? [];
  const [open, setOpen] = useState(/** @type {string | null} */ (null));
  const add = () => {
    const id = freshName(all, "measure");
    const first = [...store.pieces.value.values()][0], edge = first?.edges?.[0];
    if (!first || !edge) return;
    board.change((l) => ({ ...l, measures: [...l.measures, { id, name: edge.name, parts: [{ piece: first.id, edge: edge.id }] }] }), T.labels.measure);
    setOpen(id);
  };
  return html`<section aria-labelledby="measures-title"><h2 id="measures-title">${T.measures}</h2>
    <ul class="edge-list">${all.map((m) => html`<${One} key=${m.id} measure=${m} row=${rows.find((r) => r.id === m.id)} open=${open === m.id} toggle=${() => setOpen(open === m.id ? null : m.id)} />`)}</ul>
    <button type="button" onClick=${add}><${Icon} name="plus" />${T.addMeasure}</button></section>`;
}

/** @param {string} id */
const pieceName = (id) => store.pieces.value.get(id)?.name ?? texts.check.gone;

/** How high a piece is in its own frame, mm. @param {string} id */
function high(id) {
  const w = store.pieces.value.get(id), doc = w && readPiece(w), frame = doc?.frame;
  return doc && frame ? Math.max(...doc.rings[0].map((k) => toPiece(frame, k.at).y)) : 0;
}

/** @param {{ measure: Measure, row: MeasureRow | undefined, open: boolean, toggle: () => void }} props */
function One({ measure: m, row, open, toggle }) {
  /** @param {Partial<Measure>} change */
  const set = (change) => board.change((l) => ({ ...l, measures: l.measures.map((x) => (x.id === m.id ? { ...x, ...change } : x)) }), T.labels.measure);
  /** @param {number} i @param {Partial<import("../../types").MeasurePart>} change */
  const part = (i, change) => set({ parts: m.parts.map((x, j) => (j === i ? { ...x, ...change } : x)) });
  const edges = [...edgeNames([...store.pieces.value.values()])].map(([key, name]) => { const [piece, edge] = key.split(" "); return { piece, edge, name, has: m.parts.some((x) => x.piece === piece && x.edge === edge) }; });
  /** @param {typeof edges[number]} e */
  const box = ({ piece, edge, name, has }) => html`<label class="inline" key=${`${piece} ${edge}`}><input type="checkbox" checked=${has} disabled=${has && m.parts.length === 1} onChange=${() => set({ parts: has ? m.parts.filter((x) => !(x.piece === piece && x.edge === edge)) : [...m.parts, { piece, edge }] })} />${name}</label>`;
  const off = row && m.body_mm && !row.ok;
  return html`<li class=${open ? "on" : ""}><button type="button" class="edge-head" aria-expanded=${open} onClick=${toggle}><span class="edge-name"><strong>${m.name}</strong>
      <span class=${off ? "flag" : "quiet"}>${row ? `${T.finished} ${len(row.finished_mm)}${m.body_mm ? `, ${T.off.toLowerCase()} ${len(row.off_mm ?? 0)}` : ""}` : T.loading}</span></span>${off && html`<${Icon} name="warning" />`}<${Icon} name=${open ? "up" : "next"} /></button>
    ${open && html`<div class="edge-form">
      <${TextField} label=${T.measureName} value=${m.name} change=${(/** @type {string} */ v) => v && set({ name: v })} />
      <${LengthField} label=${T.measureBody} empty=${true} value=${m.body_mm || null} change=${(/** @type {number | null} */ mm) => set({ body_mm: mm ?? 0 })} />
      <${LengthField} label=${T.measureEase} empty=${true} signed=${true} value=${m.ease_mm || null} change=${(/** @type {number | null} */ mm) => set({ ease_mm: mm ?? 0 })} />
      <fieldset class="parts"><legend>${T.measureEdges}</legend><p class="quiet">${T.measureHow}</p>
        ${edges.filter((e) => e.has).map(box)}<details class="from-list"><summary>${T.moreEdges}</summary>${edges.filter((e) => !e.has).map(box)}</details></fieldset>
      ${m.parts.map((x, i) => (x.edge ? null : html`<${LengthField} key=${`level-${i}`} label=${T.level(pieceName(x.piece))} how=${T.levelHow} least=${0} value=${x.level_mm ?? 0} change=${(/** @type {number} */ mm) => part(i, { level_mm: Math.round(mm * 10) / 10 })} />
        ${m.parts.length > 1 && html`<button type="button" class="plain" onClick=${() => set({ parts: m.parts.filter((_, j) => j !== i) })}><${Icon} name="closeX" />${T.dropLevel(pieceName(x.piece))}</button>`}`))}
      <${Choice} label=${T.addLevel} value="" options=${[["", "–"], ...[...store.pieces.value.values()].map((p) => [p.id, p.name])]} change=${(/** @type {string} */ piece) => piece && set({ parts: [...m.parts, { piece, level_mm: Math.round(high(piece) / 2) }] })} />
      ${m.parts.map((x, i) => html`<${NumberField} key=${`times-${i}`} label=${T.times(x.edge ? edgeName({ piece: x.piece, edge: x.edge }) : pieceName(x.piece))} most=${100} whole=${true} empty=${true} how=${i === 0 ? T.timesHow : undefined} value=${x.times || null} change=${(/** @type {number | null} */ v) => part(i, { times: v ?? 0 })} />`)}
      <button type="button" class="plain" onClick=${() => removePair(m.id)}><${Icon} name="bin" />${T.remove}</button></div>`}</li>`;
}
