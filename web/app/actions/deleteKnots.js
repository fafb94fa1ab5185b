import { between } from "../geom/cubic.js";
import { add, distance, sub, times } from "../geom/vec.js";
import { freeze } from "../model/doc.js";
import { withoutKnots } from "../model/edges.js";

/** @import {Action, Doc, Knot, Point} from "../types" */

/**
 * The reason why these knots can't all go: an outline needs three. A hole may
 * go as a whole.
 * @param {Doc} doc @param {ReadonlySet<number>} ids @returns {"few" | null}
 */
export function disabled(doc, ids) {
  const left = doc.rings.map((r) => r.filter((k) => !ids.has(k.id)).length);
  const bad = left.some((n, i) => n < 3 && !(i > 0 && n === 0));
  return bad ? "few" : null;
}

/**
 * Deletes knots. Where the stretches on both sides belong to one curve, the
 * neighbours' handles grow so that the joined curve follows the old one; a knot
 * that was added to a curve and is deleted again leaves the curve as it was.
 * @param {ReadonlySet<number>} ids @returns {Action}
 */
export const deleteKnots = (ids) => (doc) => {
  if (disabled(doc, ids) || !doc.rings.some((r) => r.some((k) => ids.has(k.id)))) return doc;
  const rings = doc.rings
    .map((ring) => {
      if (!ring.some((k) => ids.has(k.id))) return ring;
      if (ring.every((k) => ids.has(k.id))) return [];
      let knots = [...ring];
      for (const k of ring) if (ids.has(k.id)) knots = without(knots, k.id);
      return knots;
    })
    .filter((ring) => ring.length > 0);
  return freeze({ ...withoutKnots(doc, ids), rings });
};

/** @param {Knot[]} knots @param {number} id */
function without(knots, id) {
  const n = knots.length, i = knots.findIndex((k) => k.id === id);
  const prev = knots[(i + n - 1) % n], gone = knots[i], next = knots[(i + 1) % n];
  const [p, q] = joined(prev, gone, next);
  return knots.map((k) => (k === prev ? p : k === next ? q : k)).filter((k) => k !== gone);
}

/** @param {Knot} prev @param {Knot} gone @param {Knot} next @returns {[Knot, Knot]} */
function joined(prev, gone, next) {
  const left = between(prev, gone), right = between(gone, next);
  if (!left.curved && !right.curved) return [prev, next];
  const ratio = distance(left.c, left.d), total = ratio + distance(right.a, right.b);
  // De Casteljau: at a split the handles beside the new knot have the lengths t : 1 - t.
  const share = total > 1e-6 ? ratio / total : chordShare(prev, gone, next);
  const t = Math.min(0.9, Math.max(0.1, share));
  return [
    { ...prev, out: grown(prev.at, left.curved ? left.b : third(prev.at, gone.at), 1 / t) },
    { ...next, in: grown(next.at, right.curved ? right.c : third(next.at, gone.at), 1 / (1 - t)) },
  ];
}

/** @param {Knot} a @param {Knot} b @param {Knot} c */
function chordShare(a, b, c) {
  const l = distance(a.at, b.at), r = distance(b.at, c.at);
  return l + r > 0 ? l / (l + r) : 0.5;
}

/** @param {Point} from @param {Point} to */
const third = (from, to) => add(from, times(sub(to, from), 1 / 3));

/** @param {Point} at @param {Point} handle @param {number} k */
const grown = (at, handle, k) => add(at, times(sub(handle, at), k));
