// What is written on the piece, as the service will print it.

import { setLabel } from "../../actions/marks.js";
import { draft, stale } from "../../state/draft.js";
import * as ed from "../../state/editor.js";
import * as store from "../../state/garments.js";
import { texts } from "../../texts.js";
import { html } from "../html.js";
import { Icon } from "../icons.js";
import { Choice, TextField } from "../lengths.js";

/** @import {Cut, Doc, Label} from "../../types" */

const T = texts.marks;

/** @param {{ doc: Doc }} props */
export function LabelForm({ doc }) {
  const label = doc.label ?? {}, cuts = label.cuts ?? [], cloths = store.garment.value?.cloths ?? [];
  const spare = cloths.find((k) => !cuts.some((c) => c.cloth === k.id || (!c.cloth && k.use === "main")));
  /** @param {Label} change */
  const set = (change) => ed.perform(setLabel(/** @type {Label} */ (Object.fromEntries(Object.entries({ ...label, ...change }).filter(([, v]) => v !== "" && v !== undefined)))), texts.editor.labels.label);
  /** @param {number} i @param {Partial<Cut>} change */
  const cut = (i, change) => set({ cuts: (cuts.length ? cuts : [{ count: 1 }]).map((c, j) => (j === i ? evened({ ...c, ...change }) : c)) });
  return html`<section aria-labelledby="label-title"><h2 id="label-title">${T.labelTitle}</h2>
    ${(cuts.length ? cuts : [{ count: 0 }]).map((c, i) => html`<div key=${i} class="cut-row">
      <div class="field-row"><label for=${`cut-${i}`}>${T.cutCount}</label><input id=${`cut-${i}`} type="number" min="1" max="100" step="1" inputmode="numeric" value=${c.count || ""} onChange=${(/** @type {any} */ e) => { const n = Math.round(+e.currentTarget.value); if (n >= 1 && n <= 100) cut(i, { count: n, ...(n % 2 && { mirrored: undefined }) }); }} /></div>
      <label class="inline"><input type="checkbox" checked=${c.mirrored ?? false} onChange=${(/** @type {any} */ e) => cut(i, { mirrored: e.currentTarget.checked || undefined })} />${T.mirrored}</label>
      ${cloths.length > 0 && html`<${Choice} label=${T.fromCloth} value=${c.cloth ?? ""} options=${[["", T.mainCloth], ...cloths.map((k) => [k.id, k.name])]} change=${(/** @type {string} */ v) => cut(i, { cloth: v || undefined })} />`}
      ${cuts.length > 1 && html`<button type="button" class="plain" onClick=${() => set({ cuts: cuts.filter((_, j) => j !== i) })}><${Icon} name="closeX" />${T.dropCut(cloths.find((k) => k.id === c.cloth)?.name ?? T.mainCloth)}</button>`}
    </div>`)}
    ${cuts.length > 0 && spare && html`<button type="button" onClick=${() => set({ cuts: [...cuts, { count: cuts[0].count, mirrored: cuts[0].mirrored, cloth: spare.id }].map(evened) })}><${Icon} name="plus" />${T.addCut}</button>`}
    <${TextField} label=${T.sizeMeasured} value=${label.size_measured ?? ""} change=${(/** @type {string} */ v) => set({ size_measured: v })} />
    <${TextField} label=${T.notes} long=${true} value=${label.notes ?? ""} change=${(/** @type {string} */ v) => set({ notes: v })} />
    <h3>${T.preview}</h3>
    ${draft.value ? html`<div class=${`label-preview ${stale.value ? "stale" : ""}`} aria-live="off">${draft.value.label.map((line, i) => html`<p key=${i}>${i === 0 ? html`<strong>${line}</strong>` : line}</p>`)}</div>` : html`<p class="quiet"><${Icon} name="dots" />${T.previewNone}</p>`}
  </section>`;
}

/** Mirrored pieces come in pairs. @param {Cut} c @returns {Cut} */
function evened(c) {
  const count = c.mirrored && c.count % 2 ? c.count + 1 : Math.max(1, c.count);
  const next = { ...c, count };
  return /** @type {any} */ (Object.fromEntries(Object.entries(next).filter(([, v]) => v !== undefined)));
}
