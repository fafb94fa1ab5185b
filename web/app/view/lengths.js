// Lengths as the person reads and types them, in the unit that is chosen.

import { useEffect, useId, useRef, useState } from "preact/hooks";
import { formatLength, parseLength } from "../model/length.js";
import { unit } from "../state/app.js";
import { texts } from "../texts.js";
import { html } from "./html.js";

/** A length in the person's unit; of those who read centimetres nobody calls two millimetres 0.2 cm. @param {number} mm */
export const len = (mm) => formatLength(mm, unit.value === "cm" && Math.abs(mm) < 9.95 && Math.abs(mm) >= 0.05 ? "mm" : unit.value).replace(" ", "\u00a0");

/**
 * A field for a length. Enter or leaving it takes it over, Esc puts the old one back.
 * @param {{ label: string, value: number | null, change: (mm: number | null) => void, how?: string, signed?: boolean, least?: number, most?: number, empty?: boolean, note?: string }} props
 */
export function LengthField({ label, value, change, how, signed = false, least = signed ? -Infinity : 0.1, most = 5000, empty = false, note }) {
  const id = useId(), box = useRef(/** @type {HTMLInputElement | null} */ (null));
  const [bad, setBad] = useState(false);
  const shown = value === null ? "" : formatLength(value, unit.value);
  useEffect(() => {
    if (box.current && box.current !== document.activeElement) box.current.value = shown;
    setBad(false);
  }, [shown]);
  // A field that goes away while it is typed in is left as well: what was typed counts.
  /** @param {any} e */
  const take = (e) => {
    const el = /** @type {HTMLInputElement} */ (e.currentTarget);
    if (el.value.trim() === shown) return setBad(false);
    if (el.value.trim() === "" && empty) return setBad(false), change(null);
    const mm = parseLength(el.value, unit.value, signed);
    if (mm === null || mm < least || mm > most) return setBad(true);
    setBad(false);
    change(mm);
    el.value = value === null && !empty ? "" : formatLength(mm, unit.value);
  };
  /** @param {KeyboardEvent} e */
  const onKey = (e) => {
    if (e.key === "Enter") take(e);
    if (e.key === "Escape" && box.current) { box.current.value = shown; setBad(false); }
  };
  const about = [how && `${id}-how`, bad && `${id}-bad`].filter(Boolean).join(" ");
  return html`<div class="field-row"><label for=${id}>${label}</label>
    <input id=${id} ref=${box} class="length" type="text" inputmode=${unit.value === "in" || signed ? "text" : "decimal"} autocomplete="off" defaultValue=${shown} placeholder=${unit.value}
      aria-invalid=${bad} aria-describedby=${about || undefined} onKeyDown=${onKey} onBlur=${take} />
    ${how && html`<p id=${`${id}-how`} class="quiet how-to">${how}</p>`}
    ${note && html`<p class="quiet how-to">${note}</p>`}
    ${bad && html`<p id=${`${id}-bad`} class="flag how-to" role="alert">${texts.exact.bad}</p>`}
  </div>`;
}

/** A field for a plain number from 0 up, with `empty` for none. @param {{ label: string, value: number | null, most: number, change: (v: number | null) => void, how?: string, whole?: boolean, empty?: boolean }} props */
export function NumberField({ label, value, most, change, how, whole = false, empty = false }) {
  const id = useId(), [bad, setBad] = useState(false);
  /** @param {any} e */
  const take = (e) => {
    const t = e.currentTarget.value.trim().replace(",", "."), v = t === "" ? (empty ? null : 0) : /^\d+(\.\d*)?$/.test(t) ? +t : NaN;
    const ok = v === null || (v <= most && (!whole || Number.isInteger(v)));
    setBad(!ok);
    if (ok && v !== value) change(v);
  };
  return html`<div class="field-row"><label for=${id}>${label}</label>
    <input id=${id} key=${`${value}`} class="length" type="text" inputmode="decimal" autocomplete="off" defaultValue=${value ?? ""} aria-invalid=${bad} aria-describedby=${`${id}-how`} onBlur=${take} onKeyDown=${(/** @type {KeyboardEvent} */ e) => e.key === "Enter" && take(e)} />
    <p id=${`${id}-how`} class=${`how-to ${bad ? "flag" : "quiet"}`} role=${bad ? "alert" : undefined} hidden=${!bad && !how}>${bad ? texts.cloths.number(most) : how}</p></div>`;
}

/** A choice of some. @param {{ label: string, value: string, options: readonly (readonly [string, string])[], change: (v: string) => void, how?: string }} props */
export function Choice({ label, value, options, change, how }) {
  const id = useId();
  return html`<div class="field-row"><label for=${id}>${label}</label>
    <select id=${id} value=${value} aria-describedby=${how ? `${id}-how` : undefined} onChange=${(/** @type {any} */ e) => change(e.currentTarget.value)}>
      ${options.map(([v, text]) => html`<option key=${v} value=${v} selected=${v === value}>${text}</option>`)}</select>
    ${how && html`<p id=${`${id}-how`} class="quiet how-to">${how}</p>`}
  </div>`;
}

/** A text that counts once it is left, or Enter is pressed. @param {{ label: string, value: string, change: (v: string) => void, list?: string, long?: boolean, placeholder?: string }} props */
export function TextField({ label, value, change, list, long = false, placeholder }) {
  const id = useId(), box = useRef(/** @type {HTMLInputElement | null} */ (null));
  useEffect(() => { if (box.current && box.current !== document.activeElement) box.current.value = value; }, [value]);
  /** @param {any} e */
  const take = (e) => { const v = e.currentTarget.value.trim(); if (v !== value) change(v); };
  const rest = { id, ref: box, defaultValue: value, maxlength: long ? 2000 : 200, placeholder, onBlur: take };
  return html`<div class="field-row"><label for=${id}>${label}</label>
    ${long ? html`<textarea ...${rest} rows="2"></textarea>` : html`<input type="text" autocomplete="off" list=${list} ...${rest} onKeyDown=${(/** @type {KeyboardEvent} */ e) => e.key === "Enter" && take(e)} />`}
  </div>`;
}

/** Centimetres or inches. */
export const UnitChoice = () => html`<label class="inline">${texts.unit.label}
  <select value=${unit.value} onChange=${(/** @type {any} */ e) => { unit.value = e.currentTarget.value; }}>
    ${/** @type {const} */ (["cm", "in"]).map((u) => html`<option key=${u} value=${u} selected=${u === unit.value}>${texts.unit[u]}</option>`)}</select></label>`;
