// The place on an outline that is nearest to a point.

import { at, segment } from "./cubic.js";

/** @import {Point, Place, Ring, Segment} from "../types" */

const COARSE = 12;
const ROUNDS = 24;

/**
 * The parameter of the point of s nearest to p: a coarse walk, then thirds.
 * @param {Segment} s @param {Point} p
 */
export function nearestOn(s, p) {
  if (!s.curved) {
    const dx = s.d.x - s.a.x, dy = s.d.y - s.a.y, l = dx * dx + dy * dy;
    const t = l === 0 ? 0 : ((p.x - s.a.x) * dx + (p.y - s.a.y) * dy) / l;
    return Math.min(1, Math.max(0, t));
  }
  /** @param {number} t */
  const far = (t) => {
    const q = at(s, t);
    return (q.x - p.x) ** 2 + (q.y - p.y) ** 2;
  };
  let best = 0, least = Infinity;
  for (let i = 0; i <= COARSE; i++) {
    const f = far(i / COARSE);
    if (f < least) [best, least] = [i / COARSE, f];
  }
  let lo = Math.max(0, best - 1 / COARSE), hi = Math.min(1, best + 1 / COARSE);
  for (let i = 0; i < ROUNDS; i++) {
    const a = lo + (hi - lo) / 3, b = hi - (hi - lo) / 3;
    if (far(a) < far(b)) hi = b;
    else lo = a;
  }
  return (lo + hi) / 2;
}

/** Distance from p to the box of the control points: never more than to the curve. @param {Segment} s @param {Point} p */
function boxDistance(s, p) {
  const dx = Math.max(Math.min(s.a.x, s.b.x, s.c.x, s.d.x) - p.x, p.x - Math.max(s.a.x, s.b.x, s.c.x, s.d.x), 0);
  const dy = Math.max(Math.min(s.a.y, s.b.y, s.c.y, s.d.y) - p.y, p.y - Math.max(s.a.y, s.b.y, s.c.y, s.d.y), 0);
  return Math.hypot(dx, dy);
}

/**
 * The nearest place on any ring within `reach` millimetres, or null.
 * @param {readonly Ring[]} rings @param {Point} p @param {number} [reach]
 * @returns {Place | null}
 */
export function nearest(rings, p, reach = Infinity) {
  /** @type {Place | null} */
  let best = null;
  let least = reach;
  rings.forEach((ring, r) => {
    for (let i = 0; i < ring.length; i++) {
      const s = segment(ring, i);
      if (boxDistance(s, p) > least) continue;
      const t = nearestOn(s, p), q = at(s, t), d = Math.hypot(q.x - p.x, q.y - p.y);
      if (d <= least) {
        least = d;
        best = { ring: r, id: ring[i].id, t, at: q, distance: d };
      }
    }
  });
  return best;
}
