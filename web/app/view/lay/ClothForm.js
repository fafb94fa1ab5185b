// What is said of the cloth: width and how it lies first, the rest folded away.

import { useId, useState } from "preact/hooks";
import { formatLength, parseLength } from "../../model/length.js";
import { unit } from "../../state/app.js";
import * as store from "../../state/garments.js";
import * as L from "../../state/laying.js";
import * as O from "../../state/outlining.js";
import { texts } from "../../texts.js";
import { html } from "../html.js";
import { Icon } from "../icons.js";
import { Choice, LengthField, TextField, len } from "../lengths.js";
import { Swatch } from "./Swatch.js";

/** @import {FullCloth, Spread} from "../../lay" */

const T = texts.lay;
const SPREADS = /** @type {const} */ (["open", "lengthwise", "crosswise"]);

export function ClothForm() {
  const c = L.cloth.value, all = L.cloths.value, spread = c.spread ?? "open", name = useId();
  /** @param {Partial<FullCloth>} edit */
  const set = (edit) => void L.changeCloth(edit);
  return html`<section class="slip cloth-form" aria-labelledby="cloth-title"><h2 id="cloth-title">${T.cloth}</h2>
    ${all.length > 1 ? html`<${Choice} label=${T.which} value=${c.id} options=${all.map((x) => [x.id, x.name])} change=${(/** @type {string} */ id) => L.choose(id)} />` : html`<p class="cloth-name"><strong>${c.name}</strong></p>`}
    ${store.garment.value && html`<${Swatch} key=${`s${c.id}`} garment=${store.garment.value.id} name=${c.name} picture=${c.swatch} change=${(/** @type {string} */ swatch) => L.noteCloth({ swatch })} />`}
    <${LengthField} key=${`w${c.id}`} label=${T.width} value=${c.width_mm || 1400} least=${50} most=${10000} how=${c.width_mm ? T.widthHow : `${T.assumed} ${T.widthHow}`} change=${(/** @type {number} */ mm) => set({ width_mm: mm })} />
    <fieldset><legend>${T.spread}</legend><div class="seg">${SPREADS.map((s) => html`<label key=${s}><input type="radio" name=${name} checked=${s === spread} onChange=${() => set({ spread: /** @type {Spread} */ (s) })} /><span>${T.spreads[s]}</span></label>`)}</div>
      <p class="quiet">${T.spreadHow[spread]}</p></fieldset>
    <${Check} label=${T.nap} on=${Boolean(c.nap)} how=${T.napHow} change=${(/** @type {boolean} */ nap) => set({ nap })} />
    <details class="cloth-more"><summary>${T.more}</summary>
      ${spread !== "open" && html`<${Check} label=${T.rightOut} on=${Boolean(c.right_side_out)} change=${(/** @type {boolean} */ v) => set({ right_side_out: v })} />`}
      <${Len} c=${c} at="repeat_length_mm" label=${T.repeatLength} most=${2000} set=${set} />
      <${Len} c=${c} at="repeat_across_mm" label=${T.repeatAcross} most=${2000} how=${T.repeatHow} set=${set} />
      ${Boolean(c.repeat_length_mm) && html`<${Len} c=${c} at="stripe_length_mm" label=${T.stripeLength} most=${2000} how=${T.stripeHow} set=${set} />`}
      ${Boolean(c.repeat_across_mm) && html`<${Len} c=${c} at="stripe_across_mm" label=${T.stripeAcross} most=${2000} how=${c.repeat_length_mm ? undefined : T.stripeHow} set=${set} />`}
      <${Num} c=${c} at="shrink_length_pct" label=${T.shrinkLength} most=${30} set=${set} />
      <${Num} c=${c} at="shrink_across_pct" label=${T.shrinkAcross} most=${30} how=${T.shrinkHow} set=${set} />
      <${Len} c=${c} at="gap_mm" label=${T.gap} most=${200} set=${set} />
      <${Len} c=${c} at="end_mm" label=${T.end} most=${1000} set=${set} />
      <${Num} c=${c} at="price_per_m" label=${T.price} most=${100000} set=${set} />
      <${TextField} key=${`cur${c.id}`} label=${T.currency} value=${c.currency ?? ""} change=${(/** @type {string} */ v) => set({ currency: v.slice(0, 8) })} />
      <${Len} c=${c} at="length_mm" label=${T.length} most=${1e6} how=${T.lengthHow} set=${set} />
      <${Remnant} key=${`r${c.id}`} c=${c} set=${set} />
      <${Flaws} c=${c} set=${set} />
    </details>
  </section>`;
}

/** @typedef {(edit: Partial<FullCloth>) => void} Set */

/** @param {{ label: string, on: boolean, change: (v: boolean) => void, how?: string }} props */
const Check = ({ label, on, change, how }) => html`<label class="inline tick"><input type="checkbox" checked=${on} onChange=${(/** @type {any} */ e) => change(e.currentTarget.checked)} />${label}</label>
  ${how && html`<p class="quiet">${how}</p>`}`;

/** A length that may be left out. @param {{ c: FullCloth, at: keyof FullCloth, label: string, most: number, how?: string, set: Set }} props */
const Len = ({ c, at, label, most, how, set }) =>
  html`<${LengthField} key=${at + c.id} label=${label} value=${c[at] ?? null} empty=${true} least=${0} most=${most} how=${how} change=${(/** @type {number | null} */ mm) => set({ [at]: mm ?? 0 })} />`;

/** @param {{ c: FullCloth, at: keyof FullCloth, label: string, most: number, how?: string, set: Set }} props */
function Num({ c, at, label, most, how, set }) {
  const id = useId(), now = /** @type {number | undefined} */ (c[at]);
  return html`<div class="field-row"><label for=${id}>${label}</label>
    <input id=${id} class="length" type="number" inputmode="decimal" min="0" max=${most} step="any" value=${now ?? ""} onChange=${(/** @type {any} */ e) => { const v = Math.min(most, Math.max(0, +e.currentTarget.value || 0)); e.currentTarget.value = v || ""; set({ [at]: v }); }} />
    ${how && html`<p class="quiet how-to">${how}</p>`}</div>`;
}

/** @param {{ c: FullCloth, set: Set }} props */
function Remnant({ c, set }) {
  const id = useId(), [bad, setBad] = useState(false);
  const shown = (c.remnant_mm ?? []).map((p) => p.map((v) => formatLength(v, unit.value).replace(/ \w+$|"$/, "")).join(", ")).join("\n");
  /** @param {any} e */
  const take = (e) => {
    const lines = e.currentTarget.value.split("\n").map((/** @type {string} */ l) => l.trim()).filter(Boolean);
    const ring = lines.map((/** @type {string} */ l) => l.split(/[;,]\s+|;|\s*,(?=\s)|,/).map((t) => parseLength(t.trim(), unit.value) ?? (t.trim() === "0" ? 0 : NaN)));
    const fine = lines.length === 0 || (ring.length >= 3 && ring.every((/** @type {number[]} */ p) => p.length === 2 && p.every((v) => v >= 0)));
    setBad(!fine);
    if (fine && e.currentTarget.value.trim() !== shown) set({ remnant_mm: ring.length ? ring : undefined });
  };
  return html`<div class="field-row"><label for=${id}>${T.remnant}</label><textarea id=${id} rows="4" defaultValue=${shown} aria-invalid=${bad} aria-describedby=${`${id}-how`} onBlur=${take}></textarea>
    <p id=${`${id}-how`} class="quiet how-to">${T.remnantHow}</p>${bad && html`<p class="flag how-to" role="alert">${T.remnantBad}</p>`}
    <div class="row"><button type="button" onClick=${() => O.begin("remnant")}>${c.remnant_mm?.length ? T.remnantRedraw : T.remnantDraw}</button>
      ${Boolean(c.remnant_mm?.length) && html`<button type="button" class="plain" onClick=${() => set({ remnant_mm: undefined })}><${Icon} name="bin" />${T.remnantNone}</button>`}</div></div>`;
}

/** @param {{ c: FullCloth, set: Set }} props */
function Flaws({ c, set }) {
  const all = c.flaws_mm ?? [], [at, setAt] = useState({ x: 200, y: 200, size: 40 });
  const add = () => {
    const { x, y, size } = at, h = size / 2;
    set({ flaws_mm: [...all, [[x - h, y - h], [x + h, y - h], [x + h, y + h], [x - h, y + h]]] });
  };
  return html`<fieldset class="flaws"><legend>${T.flaws}</legend>
    <ul>${all.map((f, i) => html`<li key=${i} class="row spread"><span>${T.flaw(len((f[0][0] + f[2 % f.length][0]) / 2), len((f[0][1] + f[2 % f.length][1]) / 2))}</span>
      <button type="button" class="plain" aria-label=${T.flawChange(i + 1)} onClick=${() => O.begin("flaw", i)}><${Icon} name="move" /></button><button type="button" class="plain" aria-label=${T.flawRemove(i + 1)} onClick=${() => set({ flaws_mm: all.filter((_, k) => k !== i) })}><${Icon} name="bin" /></button></li>`)}</ul>
    <button type="button" onClick=${() => O.begin("flaw", all.length)}>${T.flawDraw}</button>
    <${LengthField} label=${T.flawX} value=${at.x} least=${0} most=${50000} change=${(/** @type {number} */ x) => setAt({ ...at, x })} />
    <${LengthField} label=${T.flawY} value=${at.y} least=${0} most=${10000} change=${(/** @type {number} */ y) => setAt({ ...at, y })} />
    <${LengthField} label=${T.flawSize} value=${at.size} least=${1} most=${5000} change=${(/** @type {number} */ size) => setAt({ ...at, size })} />
    <button type="button" onClick=${add}><${Icon} name="plus" />${T.flawAdd}</button></fieldset>`;
}
