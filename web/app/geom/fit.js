// Few cubics through many points: Philip J. Schneider, "An Algorithm for
// Automatically Fitting Digitized Curves", Graphics Gems (1990).

import { at } from "./cubic.js";
import { add, distance, sub, times, unit } from "./vec.js";

/** @import {Point, Segment} from "../types" */

const ROUNDS = 6;
/** Shortest run of points that is cut further. */
const FEWEST = 8;

/** @param {Point} p @param {Point} q */
const dot = (p, q) => p.x * q.x + p.y * q.y;

/**
 * Cubics that follow the points within a tolerance and run on into each other.
 * @param {Point[]} pts at least two @param {Point} start direction at the beginning @param {Point} end direction back from the end
 * @param {number} tolerance mm @returns {Segment[]}
 */
export function fitCubics(pts, start, end, tolerance) {
  const { s, worst, where } = fitOne(pts, start, end, tolerance);
  if (worst <= tolerance || pts.length < FEWEST) return [s];
  const cut = Math.min(pts.length - 3, Math.max(2, where)), back = unit(sub(pts[cut - 2], pts[Math.min(pts.length - 1, cut + 2)])) ?? start;
  return [...fitCubics(pts.slice(0, cut + 1), start, back, tolerance), ...fitCubics(pts.slice(cut), times(back, -1), end, tolerance)];
}

/** @param {Point[]} pts @param {Point} start @param {Point} end @param {number} tolerance */
function fitOne(pts, start, end, tolerance) {
  let u = byChord(pts), s = solve(pts, u, start, end), best = error(pts, u, s);
  for (let i = 0; i < ROUNDS && best.worst > tolerance; i++) {
    u = u.map((t, k) => newton(s, pts[k], t));
    s = solve(pts, u, start, end);
    best = error(pts, u, s);
  }
  return { s, ...best };
}

/** @param {Point[]} pts */
function byChord(pts) {
  const way = [0];
  for (let i = 1; i < pts.length; i++) way.push(way[i - 1] + distance(pts[i], pts[i - 1]));
  const whole = way[way.length - 1] || 1;
  return way.map((w) => w / whole);
}

/** The two handle lengths by least squares. @param {Point[]} pts @param {number[]} u @param {Point} start @param {Point} end @returns {Segment} */
function solve(pts, u, start, end) {
  const a = pts[0], d = pts[pts.length - 1], chord = distance(a, d);
  let c00 = 0, c01 = 0, c11 = 0, x0 = 0, x1 = 0;
  u.forEach((t, i) => {
    const v = 1 - t, b0 = v * v * v, b1 = 3 * v * v * t, b2 = 3 * v * t * t, b3 = t * t * t;
    const p = times(start, b1), q = times(end, b2), rest = sub(pts[i], add(times(a, b0 + b1), times(d, b2 + b3)));
    c00 += dot(p, p); c01 += dot(p, q); c11 += dot(q, q);
    x0 += dot(p, rest); x1 += dot(q, rest);
  });
  const det = c00 * c11 - c01 * c01;
  let l = det ? (x0 * c11 - x1 * c01) / det : 0, r = det ? (c00 * x1 - c01 * x0) / det : 0;
  if (!(l > chord * 1e-3) || !(r > chord * 1e-3)) l = r = chord / 3;
  return { a, b: add(a, times(start, l)), c: add(d, times(end, r)), d, curved: true };
}

/** @param {Segment} s @param {Point} p @param {number} t */
function newton(s, p, t) {
  const v = 1 - t, off = sub(at(s, t), p);
  const d1 = add(add(times(sub(s.b, s.a), 3 * v * v), times(sub(s.c, s.b), 6 * v * t)), times(sub(s.d, s.c), 3 * t * t));
  const d2 = add(times(add(sub(s.c, times(s.b, 2)), s.a), 6 * v), times(add(sub(s.d, times(s.c, 2)), s.b), 6 * t));
  const slope = dot(d1, d1) + dot(off, d2);
  return slope ? Math.min(1, Math.max(0, t - dot(off, d1) / slope)) : t;
}

/** @param {Point[]} pts @param {number[]} u @param {Segment} s */
function error(pts, u, s) {
  let worst = 0, where = pts.length >> 1;
  pts.forEach((p, i) => {
    const d = distance(p, at(s, u[i]));
    if (d > worst) [worst, where] = [d, i];
  });
  return { worst, where };
}
