// The cloths that the pieces are cut from.

import { useState } from "preact/hooks";
import { freshName } from "../../model/edges.js";
import * as board from "../../state/board.js";
import * as store from "../../state/garments.js";
import { texts } from "../../texts.js";
import { html } from "../html.js";
import { Icon } from "../icons.js";
import { Swatch } from "../lay/Swatch.js";
import { Choice, LengthField, NumberField, TextField, len } from "../lengths.js";

/** @import {Cloth} from "../../types" */

const T = texts.cloths;
/** What a cloth shrinks by at most, per cent: the service takes no more. */
const MOST_SHRINK = 30;

export function Cloths() {
  const all = board.lists.value.cloths, [open, setOpen] = useState(/** @type {string | null} */ (null));
  const add = () => {
    const id = freshName(all, "cloth"), use = all.some((c) => c.use === "main") ? "lining" : "main";
    board.change((l) => ({ ...l, cloths: [...l.cloths, { id, name: T.uses[use], use }] }), texts.check.labels.cloth);
    setOpen(id);
  };
  return html`<section aria-labelledby="cloths-title"><h2 id="cloths-title">${T.title}</h2><p class="quiet">${T.how}</p>
    <ul class="edge-list">${all.map((c) => html`<${One} key=${c.id} cloth=${c} open=${open === c.id} toggle=${() => setOpen(open === c.id ? null : c.id)} />`)}</ul>
    <button type="button" onClick=${add}><${Icon} name="plus" />${T.add}</button></section>`;
}

/** @param {{ cloth: Cloth, open: boolean, toggle: () => void }} props */
function One({ cloth: c, open, toggle }) {
  /** @param {Partial<Cloth>} change */
  const set = (change) => board.change((l) => ({ ...l, cloths: l.cloths.map((x) => (x.id === c.id ? { ...x, ...change } : x)) }), texts.check.labels.cloth);
  const users = [...store.pieces.value.values()].filter((p) => p.label?.cuts?.some((k) => k.cloth === c.id)).map((p) => p.name);
  return html`<li class=${open ? "on" : ""}><button type="button" class="edge-head" aria-expanded=${open} onClick=${toggle}><span class="edge-name"><strong>${c.name}</strong>
      <span class="quiet">${[T.uses[c.use], c.width_mm && T.wide(len(c.width_mm))].filter(Boolean).join(", ")}</span></span><${Icon} name=${open ? "up" : "next"} /></button>
    ${open && html`<div class="edge-form">
      <${TextField} label=${T.name} value=${c.name} change=${(/** @type {string} */ v) => v && set({ name: v })} />
      <${Choice} label=${T.use} value=${c.use} options=${Object.entries(T.uses)} change=${(/** @type {Cloth["use"]} */ use) => set({ use })} />
      ${store.garment.value && html`<${Swatch} garment=${store.garment.value.id} name=${c.name} picture=${c.swatch} change=${(/** @type {string} */ swatch) => set({ swatch })} />`}
      <${LengthField} label=${T.width} empty=${true} least=${10} most=${10000} value=${c.width_mm || null} how=${T.widthHow} change=${(/** @type {number | null} */ mm) => set({ width_mm: mm ?? 0 })} />
      <${NumberField} label=${T.shrinkLength} most=${MOST_SHRINK} value=${c.shrink_length_pct ?? 0} change=${(/** @type {number} */ v) => set({ shrink_length_pct: v })} />
      <${NumberField} label=${T.shrinkAcross} most=${MOST_SHRINK} value=${c.shrink_across_pct ?? 0} change=${(/** @type {number} */ v) => set({ shrink_across_pct: v })} />
      <${TextField} label=${texts.marks.notes} long=${true} value=${c.notes ?? ""} change=${(/** @type {string} */ v) => set({ notes: v })} />
      ${users.length > 0 ? html`<p class="quiet">${T.cut(users.join(", "))}</p>` : html`<button type="button" class="plain" onClick=${() => board.change((l) => ({ ...l, cloths: l.cloths.filter((x) => x.id !== c.id) }), texts.check.labels.cloth)}><${Icon} name="bin" />${T.remove}</button>`}
    </div>`}</li>`;
}
