// Takes a new outline over only where strokes asked for it, so that what was
// moved by hand elsewhere stays.

import { at, part, runsOn, sample, segment } from "./cubic.js";
import { nearest, nearestOn } from "./nearest.js";
import { distance } from "./vec.js";

/** @import {Knot, Place, Point, Ring, Segment, Stroke} from "../types" */

/** Outlines nearer than this are the same, in millimetres: well above what two traces of one edge differ by. */
const SAME = 0.5;
/** A change belongs to a stroke when the stroke comes this near to it, in millimetres. */
const REACH = 10;
/** Steps between samples of the new outline, at most, in millimetres. */
const STEP = 4;

/** @typedef {{ index: number, t: number, at: Point, there: Place, apart: boolean }} Sample */
/** @typedef {{ from: Sample, to: Sample }} Run a stretch of the new outline that leaves the old one and comes back */

/**
 * The old ring with those stretches of the new one in it that differ from it
 * and that a stroke lies in or beside. Null where the two can't be joined: then
 * take the new ring as it is. Ids of knots that are made count on from firstId.
 * @param {Ring} old @param {Ring} fresh @param {readonly Stroke[]} strokes @param {number} firstId
 * @returns {Ring | null}
 */
export function splice(old, fresh, strokes, firstId) {
  const samples = walk(fresh, old);
  const start = samples.findIndex((s) => !s.apart);
  if (start < 0) return null;
  const runs = runsOf(samples, start).filter((r) => touched(old, fresh, r, strokes));
  if (runs.length === 0) return old;
  /** @type {{ s: Segment, knot: Knot | null }[]} */
  const pieces = [];
  runs.forEach((r, i) => {
    const next = runs[(i + 1) % runs.length];
    pieces.push(...chain(fresh, r.from, r.to));
    pieces.push(...chain(old, placeOn(old, r.to.there), placeOn(old, next.from.there)));
  });
  const ring = knots(pieces, firstId);
  return ring.length >= 3 && inOrder(old, runs) ? ring : null;
}

/** Samples of the new ring with their places on the old one. @param {Ring} fresh @param {Ring} old @returns {Sample[]} */
function walk(fresh, old) {
  return fresh.flatMap((_, index) => {
    const s = segment(fresh, index);
    const n = Math.max(2, Math.ceil((distance(s.a, s.b) + distance(s.b, s.c) + distance(s.c, s.d)) / STEP));
    return sample({ ...s, b: s.curved ? s.b : lerpThird(s.a, s.d), c: s.curved ? s.c : lerpThird(s.d, s.a), curved: true }, n).map((at, j) => {
      const there = /** @type {Place} */ (nearest([old], at));
      return { index, t: j / n, at, there, apart: there.distance > SAME };
    });
  });
}

/** @param {Point} a @param {Point} b */
const lerpThird = (a, b) => ({ x: a.x + (b.x - a.x) / 3, y: a.y + (b.y - a.y) / 3 });

/** @param {Sample[]} samples @param {number} start a sample where both agree @returns {Run[]} */
function runsOf(samples, start) {
  /** @type {Run[]} */
  const runs = [];
  let last = samples[start], open = false;
  for (let i = 1; i <= samples.length; i++) {
    const s = samples[(start + i) % samples.length];
    if (s.apart) open = true;
    else {
      if (open) runs.push({ from: last, to: s });
      [last, open] = [s, false];
    }
  }
  return runs;
}

/** @param {Ring} ring @param {Place} p */
const placeOn = (ring, p) => ({ index: ring.findIndex((k) => k.id === p.id), t: p.t });

/**
 * The stretches from one place along the ring to another; each with the knot
 * that it begins at, if it is not cut.
 * @param {Ring} ring @param {{ index: number, t: number }} from @param {{ index: number, t: number }} to
 * @returns {{ s: Segment, knot: Knot | null }[]}
 */
function chain(ring, from, to) {
  const first = segment(ring, from.index);
  if (from.index === to.index && to.t >= from.t) return [{ s: part(first, from.t, to.t), knot: null }];
  const out = [{ s: part(first, from.t, 1), knot: /** @type {Knot | null} */ (null) }];
  for (let i = (from.index + 1) % ring.length; i !== to.index; i = (i + 1) % ring.length) out.push({ s: segment(ring, i), knot: ring[i] });
  out.push({ s: part(segment(ring, to.index), 0, to.t), knot: ring[to.index] });
  return out;
}

/** Whether a stroke lies in or beside what the run would change. @param {Ring} old @param {Ring} fresh @param {Run} run @param {readonly Stroke[]} strokes */
function touched(old, fresh, run, strokes) {
  /** @param {{ s: Segment }[]} c */
  const points = (c) => c.flatMap(({ s }) => [...sample(s, 12), s.d]);
  const here = chain(fresh, run.from, run.to), there = chain(old, placeOn(old, run.from.there), placeOn(old, run.to.there));
  const ring = [...points(here), ...points(there).reverse()];
  return strokes.some((k) => k.points.some((p) => inside(ring, p) || near([...here, ...there], p, k.width / 2 + REACH)));
}

/** Even-odd rule. @param {Point[]} ring @param {Point} p */
function inside(ring, p) {
  let odd = false;
  ring.forEach((a, i) => {
    const b = ring[(i + 1) % ring.length];
    if (a.y > p.y !== b.y > p.y && p.x < a.x + ((p.y - a.y) / (b.y - a.y)) * (b.x - a.x)) odd = !odd;
  });
  return odd;
}

/** @param {{ s: Segment }[]} chain @param {Point} p @param {number} reach */
const near = (chain, p, reach) => chain.some(({ s }) => distance(p, at(s, nearestOn(s, p))) <= reach);

/** Whether the runs meet the old ring in the order in which they follow each other. @param {Ring} old @param {Run[]} runs */
function inOrder(old, runs) {
  const at = runs.flatMap((r) => [r.from.there, r.to.there]).map((p) => old.findIndex((k) => k.id === p.id) + p.t);
  const n = at.length;
  return at.filter((v, i) => v > at[(i + 1) % n]).length <= 1;
}

/** Stretches shorter than this are dropped, in millimetres. */
const LEAST = 1e-3;

/** @param {{ s: Segment, knot: Knot | null }[]} pieces @param {number} firstId @returns {Knot[]} */
function knots(pieces, firstId) {
  const kept = pieces.filter(({ s }) => distance(s.a, s.d) > LEAST);
  return kept.map(({ s, knot }, i) => {
    const before = kept[(i + kept.length - 1) % kept.length].s;
    return {
      id: firstId + i, at: s.a,
      // Both outlines are the same here to within SAME: the handle moves along with its end.
      in: before.curved ? { x: before.c.x + s.a.x - before.d.x, y: before.c.y + s.a.y - before.d.y } : null,
      out: s.curved ? s.b : null,
      corner: knot ? knot.corner : !runsOn(before, s),
    };
  });
}
