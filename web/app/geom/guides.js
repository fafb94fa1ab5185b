// Lines that a dragged point or handle is drawn to, and why.

import { between, way } from "./cubic.js";
import { length } from "./arc.js";
import { add, distance, length as size, sub, times, unit } from "./vec.js";

/** @import {Knot, Point, Ring} from "../types" */

/** @typedef {"fold" | "length" | "square" | "line" | "level" | "plumb" | "smooth" | "along" | "across"} Why */
/**
 * @typedef {object} Guide a line through `at` on which the point may lie
 * @property {Point} at
 * @property {Point} dir length 1
 * @property {Why} why
 * @property {string} [name] what it is about
 * @property {(p: Point) => number} [off] mm by which a length is off at p: then `at` and `dir` follow from it
 */
/** @typedef {{ at: Point, dir: Point, name: string }} Fold */

/** Which of two near lines counts: so many parts of the reach are taken off its distance. @type {Record<Why, number>} */
const GAIN = { fold: 0.6, length: 0.5, square: 0.35, smooth: 0.3, line: 0.25, along: 0.1, across: 0.1, level: 0, plumb: 0 };

/** @param {Point} p */
const left = (p) => ({ x: -p.y, y: p.x });

/**
 * What a knot that is dragged can agree with; what moves along with it counts for nothing.
 * @param {Ring} ring @param {number} i @param {ReadonlySet<number>} moving @param {Point} up the grain's direction @param {readonly Fold[]} folds
 * @returns {Guide[]}
 */
export function guidesOf(ring, i, moving, up, folds) {
  const n = ring.length, k = ring[i];
  /** @type {Guide[]} */
  const out = folds.map((f) => ({ at: f.at, dir: f.dir, why: "fold", name: f.name }));
  const [p, q] = [ring[(i + n - 1) % n], ring[(i + 1) % n]];
  for (const [by, next, side] of /** @type {const} */ ([[p, ring[(i + n - 2) % n], -1], [q, ring[(i + 2) % n], 1]])) {
    const s = side < 0 ? between(by, k) : between(k, by), beyond = side < 0 ? between(next, by) : between(by, next), dir = way(beyond, side > 0);
    if (s.curved || moving.has(by.id) || !dir) continue;
    out.push({ at: by.at, dir: left(dir), why: "square" });
    if (!beyond.curved) out.push({ at: by.at, dir, why: "line" });
  }
  const chord = unit(sub(q.at, p.at));
  if (chord && !between(p, k).curved && !between(k, q).curved && !moving.has(p.id) && !moving.has(q.id)) out.push({ at: p.at, dir: chord, why: "line" });
  ring.forEach((o, j) => {
    if (moving.has(o.id) || (!o.corner && o !== p && o !== q)) return;
    out.push({ at: o.at, dir: left(up), why: "level", name: `${j + 1}` }, { at: o.at, dir: up, why: "plumb", name: `${j + 1}` });
  });
  return out;
}

/** What a handle that is dragged can agree with: the other side of its knot, the fold, the grain. @param {Ring} ring @param {number} i @param {"in" | "out"} side @param {Point} up @returns {Guide[]} */
export function handleGuides(ring, i, side, up) {
  const n = ring.length, k = ring[i], other = side === "in" ? between(k, ring[(i + 1) % n]) : between(ring[(i + n - 1) % n], k), dir = way(other, side === "in");
  /** @type {Guide[]} */
  const out = [{ at: k.at, dir: up, why: "along" }, { at: k.at, dir: left(up), why: "across" }];
  return k.corner && dir ? [...out, { at: k.at, dir, why: "smooth" }, { at: k.at, dir: left(dir), why: "square" }] : out;
}

/** How far an edge's length is off when one of its knots is moved. @param {Ring} ring @param {number} i @param {boolean} before whether the stretch before the knot belongs to it @param {boolean} after @param {number} more mm that it is too long now */
export function lengthOff(ring, i, before, after, more) {
  const n = ring.length, k = ring[i], p = ring[(i + n - 1) % n], q = ring[(i + 1) % n];
  const long = (/** @type {Knot} */ m) => (before ? length(between(p, m)) : 0) + (after ? length(between(m, q)) : 0), now = long(k);
  return (/** @type {Point} */ to) => {
    const by = sub(to, k.at);
    return long({ ...k, at: to, in: k.in && add(k.in, by), out: k.out && add(k.out, by) }) - now + more;
  };
}

/** @param {Point} p @param {Guide} g @returns {Guide} a length as the line on which it is right, near p */
function asLine(p, g) {
  if (!g.off) return g;
  let at = p, dir = g.dir;
  for (let n = 0; n < 3; n++) {
    const off = g.off(at), e = 1e-3, slope = { x: (g.off({ x: at.x + e, y: at.y }) - off) / e, y: (g.off({ x: at.x, y: at.y + e }) - off) / e }, l = size(slope);
    if (l < 0.05) return { ...g, at: { x: Infinity, y: 0 } };
    dir = left(times(slope, 1 / l));
    at = sub(at, times(slope, off / (l * l)));
  }
  return { ...g, at, dir };
}

/** @param {Point} p @param {Guide} g */
const foot = (p, g) => { const v = sub(p, g.at); return add(g.at, times(g.dir, v.x * g.dir.x + v.y * g.dir.y)); };

/** Where two lines meet, a length put right along the other one; null where they hardly do. @param {Guide} g @param {Guide} h @returns {Point | null} */
function meet(g, h) {
  const c = g.dir.x * h.dir.y - g.dir.y * h.dir.x, v = sub(h.at, g.at);
  if (Math.abs(c) < 0.2) return null;
  let q = add(g.at, times(g.dir, (v.x * h.dir.y - v.y * h.dir.x) / c));
  const [f, l] = g.off ? [g.off, h] : [h.off, g];
  for (let n = 0; f && n < 3; n++) {
    const off = f(q), slope = (f(add(q, times(l.dir, 1e-3))) - off) / 1e-3;
    if (Math.abs(slope) > 0.05) q = sub(q, times(l.dir, off / slope));
  }
  return q;
}

/**
 * The place on the nearest guide, or where two near ones meet; the point itself where none is near.
 * @param {Point} p @param {readonly Guide[]} guides @param {number} reach mm
 * @returns {{ at: Point, on: Guide[] }}
 */
export function drawnTo(p, guides, reach) {
  const near = guides.map((g) => asLine(p, g)).map((g) => ({ g, far: distance(p, foot(p, g)) })).filter((x) => x.far <= reach)
    .sort((a, b) => a.far - GAIN[a.g.why] * reach - b.far + GAIN[b.g.why] * reach);
  if (near.length === 0) return { at: p, on: [] };
  const first = near[0].g;
  let at = foot(p, first), on = [first], least = 1.5 * reach;
  for (const { g } of near.slice(1)) {
    const q = meet(first, g);
    if (q && distance(p, q) < least) [at, on, least] = [q, [first, g], distance(p, q)];
  }
  return { at, on };
}
