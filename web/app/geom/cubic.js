// The stretches of an outline: lines and cubic Beziers.

import { lerp, point, sub, unit } from "./vec.js";

/** @import {Knot, Ring, Segment, Point} from "../types" */

/**
 * The stretch from knot p to knot q. A missing handle of a curved stretch lies
 * on its knot.
 * @param {Knot} p @param {Knot} q @returns {Segment}
 */
export function between(p, q) {
  return { a: p.at, b: p.out ?? p.at, c: q.in ?? q.at, d: q.at, curved: Boolean(p.out || q.in) };
}

/** The stretch that begins at knot i. @param {Ring} ring @param {number} i */
export const segment = (ring, i) => between(ring[i], ring[(i + 1) % ring.length]);

/** @param {Segment} s @param {number} t in [0, 1] */
export function at(s, t) {
  if (!s.curved) return lerp(s.a, s.d, t);
  const u = 1 - t;
  const a = u * u * u, b = 3 * u * u * t, c = 3 * u * t * t, d = t * t * t;
  return point(a * s.a.x + b * s.b.x + c * s.c.x + d * s.d.x, a * s.a.y + b * s.b.y + c * s.c.y + d * s.d.y);
}

/**
 * The parts before and after t (de Casteljau).
 * @param {Segment} s @param {number} t @returns {[Segment, Segment]}
 */
export function split(s, t) {
  if (!s.curved) {
    const m = lerp(s.a, s.d, t);
    return [{ a: s.a, b: s.a, c: m, d: m, curved: false }, { a: m, b: m, c: s.d, d: s.d, curved: false }];
  }
  const ab = lerp(s.a, s.b, t), bc = lerp(s.b, s.c, t), cd = lerp(s.c, s.d, t);
  const abc = lerp(ab, bc, t), bcd = lerp(bc, cd, t), m = lerp(abc, bcd, t);
  return [{ a: s.a, b: ab, c: abc, d: m, curved: true }, { a: m, b: bcd, c: cd, d: s.d, curved: true }];
}

/** The part from t0 to t1. @param {Segment} s @param {number} t0 @param {number} t1 */
export function part(s, t0, t1) {
  const tail = split(s, t0)[1];
  return t0 >= 1 ? tail : split(tail, (t1 - t0) / (1 - t0))[0];
}

/**
 * Points along the stretch from its start up to but without its end, close
 * enough for drawing small pictures and for measuring areas.
 * @param {Segment} s @param {number} [n] how many on a curve
 * @returns {Point[]}
 */
export function sample(s, n = 12) {
  if (!s.curved) return [s.a];
  return Array.from({ length: n }, (_, i) => at(s, i / n));
}

/** The direction in which a stretch begins, or ends; null where it has no length. @param {Segment} s @param {boolean} begins */
export const way = (s, begins) => (s.curved ? unit(begins ? sub(s.b, s.a) : sub(s.d, s.c)) : null) ?? unit(sub(s.d, s.a));

/** Whether two stretches run on into each other, to six degrees. @param {Segment} s @param {Segment} next */
export function runsOn(s, next) {
  const come = way(s, false), go = way(next, true);
  return come !== null && go !== null && come.x * go.x + come.y * go.y > 0.9945;
}
