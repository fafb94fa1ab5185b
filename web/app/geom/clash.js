// Whether two closed rings of straight sides lie in each other, or nearer than a gap.
// Exact but for what a pencil line hides.

/** @import {Point} from "../types" */
/** @typedef {readonly Point[]} Ring */
/** @typedef {{ minX: number, minY: number, maxX: number, maxY: number }} Box */

/**
 * What rings may lie in each other, mm: less than the 0.05 that the service allows, since
 * the outlines here are rounded and what is kept must pass there.
 */
export const TOUCH = 0.03;

/** @param {Ring} ring @returns {Box} */
export function boxOf(ring) {
  let minX = Infinity, minY = Infinity, maxX = -Infinity, maxY = -Infinity;
  for (const p of ring) {
    if (p.x < minX) minX = p.x;
    if (p.x > maxX) maxX = p.x;
    if (p.y < minY) minY = p.y;
    if (p.y > maxY) maxY = p.y;
  }
  return { minX, minY, maxX, maxY };
}

/** Whether boxes are no further than some mm apart. @param {Box} a @param {Box} b @param {number} within */
export const near = (a, b, within) => a.minX < b.maxX + within && b.minX < a.maxX + within && a.minY < b.maxY + within && b.minY < a.maxY + within;

/** @param {Ring} ring @param {number} x @param {number} y */
function contains(ring, x, y) {
  let inside = false;
  for (let i = 0, j = ring.length - 1; i < ring.length; j = i++) {
    const a = ring[i], b = ring[j];
    if (a.y > y !== b.y > y && x < ((b.x - a.x) * (y - a.y)) / (b.y - a.y) + a.x) inside = !inside;
  }
  return inside;
}

/** The distance of a point from a ring's line. @param {Ring} ring @param {number} x @param {number} y */
function away(ring, x, y) {
  let least = Infinity;
  for (let i = 0, j = ring.length - 1; i < ring.length; j = i++) {
    const a = ring[j], dx = ring[i].x - a.x, dy = ring[i].y - a.y, l = dx * dx + dy * dy;
    const t = l > 0 ? Math.max(0, Math.min(1, ((x - a.x) * dx + (y - a.y) * dy) / l)) : 0;
    const ex = x - a.x - t * dx, ey = y - a.y - t * dy, d = ex * ex + ey * ey;
    if (d < least) least = d;
  }
  return Math.sqrt(least);
}

/**
 * Calls look with the corners of a ring near a box, and with the middles of its sides
 * between the places where they cross the other ring, until it answers true.
 * @param {Ring} a @param {Ring} b @param {Box} box @param {(x: number, y: number) => boolean} look
 */
function walk(a, b, box, look) {
  for (let i = 0, j = a.length - 1; i < a.length; j = i++) {
    const p = a[j], q = a[i];
    if (!near({ minX: Math.min(p.x, q.x), maxX: Math.max(p.x, q.x), minY: Math.min(p.y, q.y), maxY: Math.max(p.y, q.y) }, box, TOUCH)) continue;
    const at = [0, 1], ux = q.x - p.x, uy = q.y - p.y;
    for (let k = 0, l = b.length - 1; k < b.length; l = k++) {
      const r = b[l], vx = b[k].x - r.x, vy = b[k].y - r.y, den = ux * vy - uy * vx;
      if (den === 0) continue;
      const t = ((r.x - p.x) * vy - (r.y - p.y) * vx) / den, s = ((r.x - p.x) * uy - (r.y - p.y) * ux) / den;
      if (t > 0 && t < 1 && s >= 0 && s <= 1) at.push(t);
    }
    at.sort((m, n) => m - n);
    if (look(p.x, p.y)) return true;
    for (let m = 1; m < at.length; m++) {
      const t = (at[m - 1] + at[m]) / 2;
      if (look(p.x + t * ux, p.y + t * uy)) return true;
    }
  }
  return false;
}

/** A point well inside a ring: on a line through its middle. @param {Ring} ring */
function within(ring) {
  const { minX, maxX, minY, maxY } = boxOf(ring), y = minY + (maxY - minY) * 0.4987;
  const xs = ring.flatMap((a, i) => { const b = ring[(i + 1) % ring.length]; return a.y > y !== b.y > y ? [a.x + ((b.x - a.x) * (y - a.y)) / (b.y - a.y)] : []; }).sort((p, q) => p - q);
  let best = [minX, maxX], wide = -1;
  for (let i = 0; i + 1 < xs.length; i += 2) if (xs[i + 1] - xs[i] > wide) [best, wide] = [[xs[i], xs[i + 1]], xs[i + 1] - xs[i]];
  return { x: (best[0] + best[1]) / 2, y };
}

/** @param {Ring} a @param {Ring} b @param {number} [gap] to keep between them, mm */
export function clash(a, b, gap = 0) {
  const A = boxOf(a), B = boxOf(b);
  if (!near(A, B, gap - TOUCH)) return false;
  /** @param {Ring} ring @returns {(x: number, y: number) => boolean} */
  const deep = (ring) => (x, y) => contains(ring, x, y) && away(ring, x, y) > TOUCH;
  const c = within(a), d = within(b);
  if (deep(b)(c.x, c.y) || deep(a)(d.x, d.y) || walk(a, b, B, deep(b)) || walk(b, a, A, deep(a))) return true;
  if (gap <= TOUCH) return false;
  /** @param {Ring} p @param {Ring} q @param {Box} box */
  const close = (p, q, box) => p.some((v) => v.x > box.minX - gap && v.x < box.maxX + gap && v.y > box.minY - gap && v.y < box.maxY + gap && away(q, v.x, v.y) < gap - TOUCH);
  return close(a, b, B) || close(b, a, A);
}

/** Whether a ring reaches out of another one. @param {Ring} a @param {Ring} outer */
export const leaves = (a, outer) => walk(a, outer, boxOf(a), (x, y) => !contains(outer, x, y) && away(outer, x, y) > TOUCH);
