// Moves and lengths by numbers.

import { moveKnots } from "../../actions/moveKnots.js";
import { setLength } from "../../actions/stretch.js";
import { length } from "../../geom/arc.js";
import { between } from "../../geom/cubic.js";
import { sub } from "../../geom/vec.js";
import { number } from "../../format.js";
import * as ed from "../../state/editor.js";
import { texts } from "../../texts.js";
import { html } from "../html.js";
import { LengthField, len } from "../lengths.js";

const T = texts.exact, L = texts.editor.labels;

/** The angle of a corner inside the outline, degrees. @param {import("../../types").Knot} before @param {import("../../types").Knot} k @param {import("../../types").Knot} after */
function angle(before, k, after) {
  const a = sub(between(before, k).curved && k.in ? k.in : before.at, k.at), b = sub(between(k, after).curved && k.out ? k.out : after.at, k.at);
  const turn = ((Math.atan2(a.y, a.x) - Math.atan2(b.y, b.x)) * 180) / Math.PI;
  return (turn + 720) % 360;
}

export function Exact() {
  const p = ed.still.value, ids = ed.selection.value;
  if (ids.size === 0) return null;
  const s = p && between(p.knot, p.after);
  return html`<section aria-labelledby="exact-title"><h2 id="exact-title">${T.title}</h2>
    <p class="quiet">${T.how} ${T.minus}</p>
    <${LengthField} label=${T.right} value=${null} signed=${true} change=${(/** @type {number} */ mm) => ed.perform(moveKnots(ids, { x: mm, y: 0 }), L.shift)} />
    <${LengthField} label=${T.up} value=${null} signed=${true} change=${(/** @type {number} */ mm) => ed.perform(moveKnots(ids, { x: 0, y: mm }), L.shift)} />
    ${p && s && (s.curved ? html`<p>${T.lengthCurve}: <strong>${len(length(s))}</strong></p>`
      : html`<${LengthField} key=${p.knot.id} label=${T.length} value=${length(s)} change=${(/** @type {number} */ mm) => ed.perform(setLength(p.knot.id, mm), L.length)} />`)}
    ${p?.knot.corner && html`<p>${T.angle(number(angle(p.before, p.knot, p.after), 1))}</p>`}
  </section>`;
}
