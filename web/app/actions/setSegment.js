import { between } from "../geom/cubic.js";
import { add, lerp, length, sub, times, unit } from "../geom/vec.js";
import { find, mapKnots } from "../model/doc.js";

/** @import {Action, Knot, Point} from "../types" */

/**
 * Makes the stretch that begins at knot `id` a straight line or a curve. Its
 * ends become corners where a line no longer runs on smoothly; a new curve
 * starts along the neighbours where its ends are smooth, and straight else.
 * @param {number} id @param {boolean} curved @returns {Action}
 */
export const setSegment = (id, curved) => (doc) => {
  const place = find(doc, id);
  if (!place || between(place.knot, place.after).curved === curved) return doc;
  const a = place.knot, d = place.after;
  if (!curved)
    return mapKnots(doc, (k) => {
      if (k.id === a.id) return { ...k, out: null, corner: true };
      return k.id === d.id ? { ...k, in: null, corner: true } : k;
    });
  return mapKnots(doc, (k) => {
    if (k.id === a.id) return { ...k, out: start(k, k.in, d.at) };
    return k.id === d.id ? { ...k, in: start(k, k.out, a.at) } : k;
  });
};

/** @param {Knot} k @param {Point | null} other @param {Point} to */
function start(k, other, to) {
  const dir = !k.corner && other ? unit(sub(k.at, other)) : null;
  return dir ? add(k.at, times(dir, length(sub(to, k.at)) / 3)) : lerp(k.at, to, 1 / 3);
}
