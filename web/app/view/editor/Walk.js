// The edges of a seam as they are walked along each other: the same ticks on both
// sides, and what one is longer.

import { chainLength, pointAt } from "../../geom/arc.js";
import { html } from "../html.js";

/** @import {Point, Segment} from "../../types" */

/** Ticks square to an edge with their numbers, and its end that is too long. @param {{ chain: Segment[], reverse: boolean, from: number, over: number, step: number, unit: number }} props unit is a pixel of the screen, mm */
export function Walk({ chain, reverse, from, over, step, unit }) {
  const l = chainLength(chain), at = (/** @type {number} */ mm) => pointAt(chain, Math.min(1, Math.max(0, reverse ? 1 - mm / l : mm / l)));
  const count = Math.floor((from + l) / step) - Math.floor(from / step), marks = Array.from({ length: count }, (_, i) => (Math.floor(from / step) + 1 + i) * step);
  /** A point beside the way, px off it. @param {number} mm @param {number} px */
  const beside = (mm, px) => {
    const p = at(mm), q = at(mm + 1), r = at(mm - 1), dx = q.x - r.x, dy = q.y - r.y, k = (px * unit) / Math.max(Math.hypot(dx, dy), 1e-6);
    return { x: p.x - dy * k, y: p.y + dx * k };
  };
  const line = (/** @type {Point} */ p, /** @type {Point} */ q) => `M${p.x} ${p.y}L${q.x} ${q.y}`;
  const close = step / unit < 20, steps = Array.from({ length: 9 }, (_, i) => at(l - over + (over * i) / 8));
  return html`<path class="walk-tick" d=${marks.map((m) => line(beside(m - from, -6), beside(m - from, 6))).join("")} />
    ${!close && marks.map((m) => { const p = beside(m - from, reverse ? -14 : 14); return html`<text key=${m} class="walk-number" font-size=${unit * 10} x=${p.x} y=${p.y + unit * 3.5}>${m / step}</text>`; })}
    ${over > 0.05 && html`<path class="walk-over" d=${steps.map((p, i) => `${i ? "L" : "M"}${p.x} ${p.y}`).join("")} />`}`;
}
