// How true the scale cards are printed: two rulers to measure, and what a photo
// was traced with.

import { useState } from "preact/hooks";
import { lengthText, number } from "../format.js";
import { RULERS, UNMEASURED, limits, readPrint, readRuler, samePrint } from "../model/print.js";
import { editPhoto, traceAnew } from "../state/garments.js";
import { print } from "../state/printer.js";
import { texts } from "../texts.js";
import { html } from "./html.js";
import { Icon } from "./icons.js";

/** @import {Photo} from "../types" */

const T = texts.printer;
const SIDES = /** @type {const} */ (["across", "up"]);

export const Printer = () => html`<fieldset class="printer" aria-describedby="printer-why">
  <legend>${T.title}</legend>
  <p id="printer-why" class="quiet">${T.why}</p>
  ${SIDES.map((side) => html`<${Ruler} key=${side} side=${side} />`)}
  <p class="quiet">${T.kept}</p>
</fieldset>`;

/** The same folded up, beside what it is needed for. */
export const PrinterFold = () => html`<details class="printer-fold"><summary>${T.short(length(print.value.across), length(print.value.up))}</summary><${Printer} /></details>`;

/** @param {{ side: "across" | "up" }} props */
function Ruler({ side }) {
  const nominal = RULERS[side], { least, most } = limits(nominal), kept = print.value[side];
  const [bad, setBad] = useState(false);
  /** @param {any} e */
  const take = (e) => {
    const el = e.currentTarget, v = el.validity.badInput ? undefined : readRuler(el.value, nominal);
    setBad(v === undefined);
    print.value = { ...print.value, [side]: v ?? null };
  };
  return html`<div class="ruler">
    <label><span>${T.ruler(nominal, side)}</span>
      <input type="number" inputmode="decimal" step="any" min=${least} max=${most} placeholder=${number(nominal, 0)} defaultValue=${kept ?? ""}
        aria-invalid=${bad} aria-describedby=${bad ? `ruler-${side}` : undefined} onChange=${take} /> mm</label>
    ${bad && html`<p id=${`ruler-${side}`} class="flag" role="alert"><${Icon} name="warning" />${T.bad(least, most)}</p>`}
  </div>`;
}

/** What a photo's rulers measure, and how to change that. @param {{ photo: Photo }} props */
export function PrintOf({ photo: p }) {
  const its = readPrint(p.print), mine = print.value;
  const measured = !samePrint(its, UNMEASURED), other = !samePrint(its, mine);
  if (!measured && !other && !p.print_changed) return null;
  return html`<div class="print-of">
    ${measured && html`<p class="quiet">${T.said(length(its.across), length(its.up))}</p>`}
    ${other && html`<button type="button" onClick=${() => editPhoto(p.id, { print: mine })}>${samePrint(mine, UNMEASURED) ? T.forget : T.use(length(mine.across), length(mine.up))}</button>`}
    ${p.print_changed && html`<p class="flag"><${Icon} name="warning" />${T.changed}</p>
      <button type="button" onClick=${() => confirm(T.anewAsk) && traceAnew(p.id)}>${T.anew}</button>`}
  </div>`;
}

/** @param {number | null} mm */
const length = (mm) => (mm === null ? "" : lengthText(mm, mm === +mm.toFixed(1) ? 1 : 2));
