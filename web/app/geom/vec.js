// Points and displacements in millimetres, y up. Results are frozen.

/** @import {Point} from "../types" */

/** @param {number} x @param {number} y @returns {Point} */
export const point = (x, y) => Object.freeze({ x, y });

/** @param {Point} p @param {Point} q */
export const add = (p, q) => point(p.x + q.x, p.y + q.y);

/** @param {Point} p @param {Point} q */
export const sub = (p, q) => point(p.x - q.x, p.y - q.y);

/** @param {Point} p @param {number} k */
export const times = (p, k) => point(p.x * k, p.y * k);

/** @param {Point} p @param {Point} q @param {number} t */
export const lerp = (p, q, t) => point(p.x + (q.x - p.x) * t, p.y + (q.y - p.y) * t);

/** @param {Point} p */
export const length = (p) => Math.hypot(p.x, p.y);

/** @param {Point} p @param {Point} q */
export const distance = (p, q) => Math.hypot(p.x - q.x, p.y - q.y);

/**
 * The direction of p, or null where p is shorter than a ten-thousandth of a
 * millimetre and has none.
 * @param {Point} p
 */
export function unit(p) {
  const l = length(p);
  return l < 1e-4 ? null : times(p, 1 / l);
}

/** @param {Point} p @param {Point} q */
export const same = (p, q) => p.x === q.x && p.y === q.y;
