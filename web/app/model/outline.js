// An outline that is drawn on the cloth, corner by corner: a remnant, or a flaw. Points
// lie in the cloth frame, mm.

/** @import {Point} from "../types" */

/** @param {Point} a @param {Point} b @param {Point} c */
const side = (a, b, c) => Math.sign((b.x - a.x) * (c.y - a.y) - (b.y - a.y) * (c.x - a.x));

/** Whether two stretches meet. @param {Point} a @param {Point} b @param {Point} c @param {Point} d */
function meet(a, b, c, d) {
  const s = [side(a, b, c), side(a, b, d), side(c, d, a), side(c, d, b)];
  if (s[0] !== s[1] && s[2] !== s[3] && !s.includes(0)) return true;
  /** @param {Point} p @param {Point} q @param {Point} r */
  const on = (p, q, r) => side(p, q, r) === 0 && Math.min(p.x, q.x) <= r.x && r.x <= Math.max(p.x, q.x) && Math.min(p.y, q.y) <= r.y && r.y <= Math.max(p.y, q.y);
  return on(a, b, c) || on(a, b, d) || on(c, d, a) || on(c, d, b);
}

/** What is wrong with an outline: too few corners, or one that crosses itself or has no area; null where it will do. @param {readonly Point[]} ring @returns {"few" | "crossed" | null} */
export function flawOf(ring) {
  const n = ring.length;
  if (n < 3) return "few";
  for (let i = 0; i < n; i++) {
    const a = ring[i], b = ring[(i + 1) % n], c = ring[(i + 2) % n];
    // Neighbours share a corner, and may not run back on themselves.
    if (side(a, b, c) === 0 && (c.x - b.x) * (a.x - b.x) + (c.y - b.y) * (a.y - b.y) >= 0) return "crossed";
    for (let k = i + 2; k < n; k++) if ((k + 1) % n !== i && meet(a, b, ring[k], ring[(k + 1) % n])) return "crossed";
  }
  return null;
}

/** Where a corner comes to lie: on whole millimetres, on the sides of the cloth where they are near, and never off it. @param {Point} p @param {number} width @param {number} near mm */
export function settled(p, width, near) {
  const to = (/** @type {number} */ v, /** @type {readonly number[]} */ marks) => marks.find((m) => Math.abs(v - m) <= near) ?? Math.round(v);
  return { x: Math.max(0, to(p.x, [0])), y: Math.min(width, Math.max(0, to(p.y, [0, width]))) };
}

/** Where a corner more goes after one of them when no place is pointed at. @param {readonly Point[]} ring @param {number} at @param {number} width @returns {Point} */
export function between(ring, at, width) {
  if (ring.length === 0) return { x: 0, y: 0 };
  if (ring.length < 3) return [{ x: 500, y: 0 }, { x: 500, y: Math.min(500, width) }][ring.length - 1];
  const a = ring[at], b = ring[(at + 1) % ring.length];
  return { x: Math.round((a.x + b.x) / 2), y: Math.round((a.y + b.y) / 2) };
}
