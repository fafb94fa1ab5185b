import { between, split } from "../geom/cubic.js";
import { find, withRing } from "../model/doc.js";

/** @import {Action, Knot} from "../types" */

/**
 * Adds a knot on the stretch that begins at knot `id`, without changing the
 * outline's shape. On a curve the new knot is smooth, on a line a corner.
 * @param {number} id @param {number} t in (0, 1) @param {number} newId @returns {Action}
 */
export const splitSegment = (id, t, newId) => (doc) => {
  const place = find(doc, id);
  if (!place || t <= 0 || t >= 1) return doc;
  const { ring, index, knot, after } = place;
  const whole = between(knot, after);
  const [l, r] = split(whole, t);
  /** @type {Knot} */
  const middle = { id: newId, at: l.d, in: whole.curved ? l.c : null, out: whole.curved ? r.b : null, corner: !whole.curved };
  const knots = [...doc.rings[ring]];
  const next = (index + 1) % knots.length;
  if (whole.curved) {
    knots[index] = { ...knot, out: l.b };
    knots[next] = { ...after, in: r.c };
  }
  knots.splice(index + 1, 0, middle);
  return withRing(doc, ring, knots);
};
