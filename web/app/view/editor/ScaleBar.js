import { lengthText } from "../../format.js";
import * as ed from "../../state/editor.js";
import { html } from "../html.js";

/** A bar of a round length, between 60 and 150 pixels long. */
export function ScaleBar() {
  const scale = ed.viewport.value.scale;
  const raw = 150 / scale, power = 10 ** Math.floor(Math.log10(raw));
  const mm = ([5, 2, 1].find((k) => k * power <= raw) ?? 1) * power;
  const w = Math.round(mm * scale);
  return html`<div class="scale-bar"><span>${lengthText(mm, mm < 1 ? 1 : 0)}</span>
    <svg width=${w + 2} height="10" aria-hidden="true" focusable="false"><path d=${`M1 1v8M1 5h${w}M${w + 1} 1v8`} /></svg></div>`;
}
