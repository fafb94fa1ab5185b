// What a chosen stretch is made like: choices, what would change, and the line it
// would become.

import { chainOf, knotsOf } from "../../actions/stretch.js";
import { chainPath } from "../../geom/ring.js";
import * as sh from "../../state/shaping.js";
import * as ed from "../../state/editor.js";
import { texts } from "../../texts.js";
import { take } from "../../tools/index.js";
import { html } from "../html.js";
import { Icon } from "../icons.js";

/** @import {Keep} from "../../actions/shape.js" */

const T = texts.stretch;

/** @param {{ label: string, value: string, options: readonly (readonly [string, string])[], change: (v: string) => void }} props */
const Pick = ({ label, value, options, change }) => html`<label class="inline pick"><span>${label}</span><select value=${value} onChange=${(/** @type {any} */ e) => change(e.currentTarget.value)}>
  ${options.map(([v, text]) => html`<option key=${v} value=${v} selected=${v === value}>${text}</option>`)}</select></label>`;

export function ShapeOffer() {
  const s = sh.shaping.value, p = sh.plan.value;
  if (!s || !p) return null;
  const edges = sh.sources.value.map((x) => /** @type {[string, string]} */ ([x.id, x.name]));
  return html`<div class="offer shape">
    ${s.kind === "mirror" && html`<${Pick} label=${T.about} value=${s.of} options=${[...sh.axes.value.map((l) => [l.id, l.name]), ["pick", T.pick]]} change=${(/** @type {string} */ v) => (v === "pick" ? pickAxis() : sh.change({ of: v }))} />
      <${Pick} label=${T.keep} value=${s.keep} options=${Object.entries(T.keeps)} change=${(/** @type {Keep} */ keep) => sh.change({ keep })} />`}
    ${s.kind === "borrow" && html`<${Pick} label=${T.from} value=${s.of} options=${edges} change=${(/** @type {string} */ of) => sh.change({ of })} />
      <${Pick} label=${T.side} value=${s.mirrored ? "twin" : "same"} options=${Object.entries(T.sides)} change=${(/** @type {string} */ v) => sh.change({ mirrored: v === "twin" })} />
      <${Pick} label=${T.ends} value=${s.stay ? "stay" : "move"} options=${Object.entries(T.endsOf)} change=${(/** @type {string} */ v) => sh.change({ stay: v === "stay" })} />`}
    ${s.kind === "match" && html`<${Pick} label=${T.match} value=${s.of} options=${[["", T.rest], ...edges]} change=${(/** @type {string} */ of) => sh.change({ of })} />`}
    <span class=${p.next ? "what quiet" : "what flag"} role="status">${p.next ? p.note : p.why}</span>
    <div class="row"><button type="button" class="main" aria-disabled=${!p.next} onClick=${sh.apply}><${Icon} name="check" />${T.do}</button><button type="button" onClick=${() => (sh.shaping.value = null)}>${texts.cancel}</button></div>
  </div>`;
}

function pickAxis() {
  sh.picked.value = [];
  take("axis");
}

/** The line that the stretch would become, and the axis. */
export function ShapeLayer() {
  const p = sh.plan.value, e = ed.ends.value, pts = sh.picked.value, v = ed.viewport.value, far = 4 * Math.max(v.width, v.height) / v.scale, a = p?.axis;
  const axis = a ? `M${a.at.x - far * a.dir.x} ${a.at.y - far * a.dir.y}L${a.at.x + far * a.dir.x} ${a.at.y + far * a.dir.y}` : "";
  const would = p?.next && e ? chainPath(chainOf(knotsOf(p.next, e))) : "";
  return html`${axis && html`<path class="rim guide" d=${axis} /><path class="guide" d=${axis} />`}
    ${would && html`<path class="rim would" d=${would} /><path class="would" d=${would} />`}
    ${pts.length === 1 && html`<path class="rim tape-end" d=${`M${pts[0].x} ${pts[0].y}h0`} /><path class="tape-end" d=${`M${pts[0].x} ${pts[0].y}h0`} />`}`;
}
