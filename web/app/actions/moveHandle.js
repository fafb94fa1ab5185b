import { length, same, sub, times, unit, add } from "../geom/vec.js";
import { find, mapKnots } from "../model/doc.js";

/** @import {Action, Knot, Point} from "../types" */

/**
 * Moves one handle. At a smooth knot the other one turns with it and keeps its
 * length, and where the other side is a straight line the handle stays on the
 * line's continuation.
 * @param {number} id @param {"in" | "out"} side @param {Point} to @returns {Action}
 */
export const moveHandle = (id, side, to) => (doc) => {
  const place = find(doc, id);
  const now = place?.knot[side];
  if (!place || !now || same(now, to)) return doc;
  const { knot, before, after } = place;
  if (knot.corner) return mapKnots(doc, (k) => (k.id === id ? { ...k, [side]: to } : k));
  return mapKnots(doc, (k) => (k.id === id ? smoothly(k, side, to, side === "out" ? before.at : after.at) : k));
};

/**
 * @param {Knot} knot @param {"in" | "out"} side @param {Point} to
 * @param {Point} across the neighbour on the other side
 * @returns {Knot}
 */
function smoothly(knot, side, to, across) {
  const other = side === "in" ? "out" : "in";
  const held = knot[other];
  if (held) {
    const dir = unit(sub(knot.at, to));
    return { ...knot, [side]: to, [other]: dir ? add(knot.at, times(dir, length(sub(held, knot.at)))) : held };
  }
  const dir = unit(sub(knot.at, across));
  const v = sub(to, knot.at);
  const reach = dir ? Math.max(0, v.x * dir.x + v.y * dir.y) : 0;
  return { ...knot, [side]: dir ? add(knot.at, times(dir, reach)) : to };
}
