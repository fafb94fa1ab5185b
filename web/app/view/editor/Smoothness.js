// The slider that draws the whole outline closer to the cloth or smoother.

import * as ed from "../../state/editor.js";
import { cannotSmooth, fitting, release, slide, smoothness } from "../../state/smoothness.js";
import { texts } from "../../texts.js";
import { html } from "../html.js";

const T = texts.smooth;

export function Smoothness() {
  const doc = ed.doc.value;
  if (!doc || !ed.photo.value?.trace) return null;
  const why = cannotSmooth(doc), at = smoothness.value;
  return html`<section aria-labelledby="smooth-title"><h2 id="smooth-title">${T.title}</h2>
    ${why ? html`<p class="quiet">${why}</p>` : html`<label class="slide">${T.label}
      <input type="range" min="-1" max="1" step="0.1" list="as-traced" value=${at} aria-valuetext=${T.value(at)} aria-describedby="smooth-how"
        onInput=${(/** @type {any} */ e) => void slide(+e.currentTarget.value)} onChange=${release} />
      <output>${T.value(at)}</output></label><datalist id="as-traced"><option value="0"></option></datalist>
      <p class="quiet" id="smooth-how">${T.how}</p><p class="quiet" role="status">${fitting.value ? T.busy : ""}</p>`}
  </section>`;
}
