// What lies under a pointer. Fingers get larger targets than a mouse.

import { nearest } from "../geom/nearest.js";
import { toPixel, toPlane } from "../geom/viewport.js";

/** @import {Hit, Knot, Pixel, Point, Ring, Viewport} from "../types" */

/** Greatest distance from a point or the outline that still counts as on it, in pixels. */
const REACH = { mouse: 10, pen: 12, touch: 24 };

/** @param {string} pointer */
export const reach = (pointer) => (pointer === "touch" ? REACH.touch : pointer === "pen" ? REACH.pen : REACH.mouse);

/**
 * The nearest handle of a selected knot, else the nearest knot, else the
 * outline. A handle wins over a knot only where it is clearly nearer: handles
 * can be shorter than a finger is wide.
 * @param {readonly Ring[]} rings @param {readonly Knot[]} selected @param {Viewport} view
 * @param {Pixel} at @param {string} pointer @returns {Hit}
 */
export function hit(rings, selected, view, at, pointer) {
  const r = reach(pointer);
  /** @param {Point} p */
  const far = (p) => {
    const q = toPixel(view, p);
    return Math.hypot(q.x - at.x, q.y - at.y);
  };
  /** @type {Hit} */
  let best = { kind: "none" };
  let least = r;
  for (const ring of rings)
    for (const k of ring) {
      const d = far(k.at);
      if (d <= least) [best, least] = [{ kind: "knot", id: k.id }, d];
    }
  if (best.kind === "knot") least = Math.max(0, least - 2);
  for (const k of selected)
    for (const side of /** @type {const} */ (["in", "out"])) {
      const h = k[side], d = h ? far(h) : Infinity;
      if (d < least || (d <= r && best.kind === "none")) [best, least] = [{ kind: "handle", id: k.id, side }, d];
    }
  if (best.kind !== "none") return best;
  const place = nearest(rings, toPlane(view, at), r / view.scale);
  return place ? { kind: "segment", place } : best;
}
