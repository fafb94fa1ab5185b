// Finished measures beside those of the body.

import { useState } from "preact/hooks";
import { freshName } from "../../model/edges.js";
import * as board from "../../state/board.js";
import * as store from "../../state/garments.js";
import { edgeName, removePair } from "../../state/pairing.js";
import { texts } from "../../texts.js";
import { html } from "../html.js";
import { Icon } from "../icons.js";
import { LengthField, TextField, len } from "../lengths.js";

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

/** @param {{ measure: Measure, row: MeasureRow | undefined, open: boolean, toggle: () => void }} props */
function One({ measure: m, row, open, toggle }) {
  /** @param {Partial<Measure>} change */
  const set = (change) => board.change((l) => ({ ...l, measures: l.measures.map((x) => (x.id === m.id ? { ...x, ...change } : x)) }), T.labels.measure);
  const off = row && m.body_mm && !row.ok;
  return html`<li class=${open ? "on" : ""}><button type="button" class="edge-head" aria-expanded=${open} onClick=${toggle}><span class="edge-name"><strong>${m.name}</strong>
      <span class=${off ? "flag" : "quiet"}>${row ? `${T.finished} ${len(row.finished_mm)}${m.body_mm ? `, ${T.off.toLowerCase()} ${len(row.off_mm ?? 0)}` : ""}` : T.loading}</span></span>${off && html`<${Icon} name="warning" />`}<${Icon} name=${open ? "up" : "next"} /></button>
    ${open && html`<div class="edge-form">
      <${TextField} label=${T.measureName} value=${m.name} change=${(/** @type {string} */ v) => v && set({ name: v })} />
      <${LengthField} label=${T.measureBody} empty=${true} value=${m.body_mm || null} change=${(/** @type {number | null} */ mm) => set({ body_mm: mm ?? 0 })} />
      <${LengthField} label=${T.measureEase} empty=${true} signed=${true} value=${m.ease_mm || null} change=${(/** @type {number | null} */ mm) => set({ ease_mm: mm ?? 0 })} />
      <fieldset class="parts"><legend>${T.measureEdges}</legend><p class="quiet">${T.measureHow}</p>
        ${[...store.pieces.value.values()].flatMap((p) => (p.edges ?? []).map((e) => {
          const has = m.parts.some((x) => x.piece === p.id && x.edge === e.id);
          return html`<label class="inline" key=${`${p.id} ${e.id}`}><input type="checkbox" checked=${has} disabled=${has && m.parts.length === 1} onChange=${() => set({ parts: has ? m.parts.filter((x) => !(x.piece === p.id && x.edge === e.id)) : [...m.parts, { piece: p.id, edge: e.id }] })} />${edgeName({ piece: p.id, edge: e.id })}</label>`;
        }))}</fieldset>
      <button type="button" class="plain" onClick=${() => removePair(m.id)}><${Icon} name="bin" />${T.remove}</button></div>`}</li>`;
}
