import { chainOf, knotsOf } from "../../actions/stretch.js";
import { commands } from "../../commands.js";
import { chainPath } from "../../geom/ring.js";
import * as ed from "../../state/editor.js";
import { shaping } from "../../state/shaping.js";
import { texts } from "../../texts.js";
import { html } from "../html.js";
import { len } from "../lengths.js";
import { Do } from "./Bench.js";
import { ShapeLayer, ShapeOffer } from "./ShapeOffer.js";

const T = texts.stretch;

/** @returns {import("../../types").Knot[]} */
function chosen() {
  const s = ed.stretch.value, doc = ed.doc.value;
  return s && s.to !== null && doc ? knotsOf(doc, { ring: s.ring, from: s.from, to: s.to }) : [];
}

/** What can be done with the chosen stretch. */
export function StretchOffer() {
  const s = ed.stretch.value, knots = chosen();
  if (knots.length < 2) return html`<div class="offer"><span class="what quiet">${s ? texts.editor.hint.stretchTo : texts.editor.hint.stretch}</span></div>`;
  if (shaping.value) return html`<${ShapeOffer} />`;
  return html`<div class="offer at-points many">
    <label class="inline within"><span>${T.within}</span> <input type="range" min="0.2" max="8" step="0.1" title=${T.withinHow} value=${ed.within.value} onInput=${(/** @type {any} */ e) => (ed.within.value = +e.currentTarget.value)} /><output>${len(ed.within.value)}</output></label>
    <div class="row"><${Do} id="stretchLine" icon="line" /><${Do} id="stretchFair" icon="curve" />${commands.stretchPhoto.available?.() && html`<${Do} id="stretchPhoto" icon="camera" />`}<${Do} id="stretch-mirror" icon="mirror" /><${Do} id="stretch-borrow" icon="twin" /><${Do} id="stretch-match" icon="smooth" /><${Do} id="stretchOther" icon="swap" /></div>
  </div>`;
}

/** The chosen stretch over the outline. */
export function StretchLayer() {
  const s = ed.stretch.value, knots = chosen();
  if (!s) return null;
  const first = ed.rings.value[s.ring]?.find((k) => k.id === s.from);
  if (knots.length < 2) return first ? html`<path class="knot-halo" d=${`M${first.at.x} ${first.at.y}h0`} />` : null;
  return html`<path class="chosen-line" d=${chainPath(chainOf(knots))} /><${ShapeLayer} />`;
}
