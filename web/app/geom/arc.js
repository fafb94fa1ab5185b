// Lengths along an outline, and places at a length.

import { at, part } from "./cubic.js";
import { distance } from "./vec.js";

/** @import {Point, Segment} from "../types" */

// Gauss-Legendre, five points: nodes and weights on [-1, 1] (Abramowitz and Stegun, Handbook, table 25.4).
const NODES = [0, 0.5384693101056831, -0.5384693101056831, 0.906179845938664, -0.906179845938664];
const WEIGHTS = [0.5688888888888889, 0.4786286704993665, 0.4786286704993665, 0.2369268850561891, 0.2369268850561891];
/** A curve is measured in so many parts: more than enough for a hundredth of a millimetre on a piece. */
const PARTS = 8;

/** Speed of a cubic at t. @param {Segment} s @param {number} t */
function speed(s, t) {
  const u = 1 - t, a = 3 * u * u, b = 6 * u * t, c = 3 * t * t;
  return Math.hypot(
    a * (s.b.x - s.a.x) + b * (s.c.x - s.b.x) + c * (s.d.x - s.c.x),
    a * (s.b.y - s.a.y) + b * (s.c.y - s.b.y) + c * (s.d.y - s.c.y),
  );
}


/** Arc length in mm. @param {Segment} s */
export function length(s) {
  if (!s.curved) return distance(s.a, s.d);
  let sum = 0;
  for (let i = 0; i < PARTS; i++)
    NODES.forEach((x, k) => { sum += WEIGHTS[k] * speed(s, (i + (x + 1) / 2) / PARTS); });
  return sum / 2 / PARTS;
}

/** @param {readonly Segment[]} chain */
export const chainLength = (chain) => chain.reduce((sum, s) => sum + length(s), 0);

/** The parameter at which a segment has a length from its start. @param {Segment} s @param {number} want */
function paramAt(s, want) {
  const whole = length(s);
  if (whole === 0) return 0;
  if (!s.curved) return Math.min(1, Math.max(0, want / whole));
  let lo = 0, hi = 1;
  for (let i = 0; i < 40; i++) {
    const mid = (lo + hi) / 2;
    if (length(part(s, 0, mid)) < want) lo = mid;
    else hi = mid;
  }
  return (lo + hi) / 2;
}

/** The point at a fraction of a chain's length. @param {readonly Segment[]} chain @param {number} f in [0, 1] @returns {Point} */
export function pointAt(chain, f) {
  let want = Math.min(1, Math.max(0, f)) * chainLength(chain);
  for (const s of chain) {
    const l = length(s);
    if (want <= l) return at(s, paramAt(s, want));
    want -= l;
  }
  return chain[chain.length - 1].d;
}

/** The fraction of a chain's length at parameter t of its i-th segment. @param {readonly Segment[]} chain @param {number} i @param {number} t */
export function fractionAt(chain, i, t) {
  const whole = chainLength(chain);
  return whole > 0 ? Math.min(1, (chainLength(chain.slice(0, i)) + (t > 0 ? length(part(chain[i], 0, t)) : 0)) / whole) : 0;
}
