import { lengthText } from "../../format.js";
import { unit } from "../../state/app.js";
import * as ed from "../../state/editor.js";
import { html } from "../html.js";
import { len } from "../lengths.js";

/** Round lengths for a bar, in mm: parts and wholes of what lengths are read in. */
const ROUND = {
  cm: [-2, -1, 0, 1, 2, 3, 4].flatMap((p) => [1, 2, 5].map((k) => k * 10 ** p)),
  in: [1 / 16, 1 / 8, 1 / 4, 1 / 2, 1, 2, 4, 8, 16, 32, 64, 128, 256].map((n) => n * 25.4),
};

/** How long the bar may be, in pixels: on a narrow screen it stands between the buttons, where it hides no cloth. */
const MOST = 150, BESIDE = 312;

/** A bar of a round length. */
export function ScaleBar() {
  const { scale, width } = ed.viewport.value, round = ROUND[unit.value], most = Math.max(30, Math.min(MOST, width - BESIDE));
  const mm = round.findLast((l) => l * scale <= most) ?? round[0], w = Math.round(mm * scale);
  return html`<div class="scale-bar"><span>${unit.value === "cm" && mm < 1 ? lengthText(mm, mm < 0.1 ? 2 : 1) : len(mm)}</span>
    <svg width=${w + 2} height="10" aria-hidden="true" focusable="false"><path d=${`M1 1v8M1 5h${w}M${w + 1} 1v8`} /></svg></div>`;
}
