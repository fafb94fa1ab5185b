// A stretch made like something else: its own mirror image, a twin's edge, or as
// smooth as another edge.

import { chainLength, fractionAt, pointAt } from "../geom/arc.js";
import { at, part, runsOn } from "../geom/cubic.js";
import { fitCubics } from "../geom/fit.js";
import { add, distance, lerp, point, sub, times, unit } from "../geom/vec.js";
import { chainOf, fair, knotsOf, put } from "./stretch.js";

/** @import {Action, Doc, Point, Segment} from "../types" */
/** @import {Ends} from "./stretch.js" */

/** @typedef {{ at: Point, dir: Point }} Axis a line through a point; dir has length 1 */
/** @typedef {"mean" | "first" | "last"} Keep which half stays */

/** @param {Point} p @param {Point} q */
const dot = (p, q) => p.x * q.x + p.y * q.y;
/** @param {Point} p @param {Point} q */
const cross = (p, q) => p.x * q.y - p.y * q.x;

/** The mirror image of a point. @param {Axis} axis @returns {(p: Point) => Point} */
export const mirror = ({ at: o, dir }) => (p) => { const k = dot(sub(p, o), dir); return point(2 * (o.x + k * dir.x) - p.x, 2 * (o.y + k * dir.y) - p.y); };

/** @param {Segment[]} chain @param {(p: Point) => Point} f @returns {Segment[]} */
const mapped = (chain, f) => chain.map((s) => ({ a: f(s.a), b: f(s.b), c: f(s.c), d: f(s.d), curved: s.curved }));

/** A chain walked the other way. @param {Segment[]} chain @returns {Segment[]} */
export const turned = (chain) => chain.map((s) => ({ a: s.d, b: s.c, c: s.b, d: s.a, curved: s.curved })).reverse();

const STEPS = 16;

/** Where a chain crosses an axis, nearest to its middle; null where it does not. @param {Segment[]} chain @param {Axis} axis */
function crossing(chain, axis) {
  const off = (/** @type {Point} */ p) => cross(axis.dir, sub(p, axis.at));
  /** @type {{ i: number, t: number, far: number } | null} */
  let best = null;
  chain.forEach((s, i) => {
    for (let k = 0; k < STEPS; k++) {
      let lo = k / STEPS, hi = (k + 1) / STEPS;
      const from = off(at(s, lo)), to = off(at(s, hi));
      if (from > 0 === to > 0) continue;
      for (let n = 0; n < 50; n++) {
        const mid = (lo + hi) / 2;
        if (off(at(s, mid)) > 0 === from > 0) lo = mid;
        else hi = mid;
      }
      const far = Math.abs(fractionAt(chain, i, hi) - 0.5);
      if (far < 0.49 && (!best || far < best.far)) best = hi < 1e-6 ? { i: i - 1, t: 1, far } : { i, t: hi, far };
    }
  });
  return /** @type {{ i: number, t: number } | null} */ (best);
}

/**
 * A chain that is its own mirror image: one half of it kept, or the mean of both.
 * Null where the axis does not cross it.
 * @param {Segment[]} chain @param {Axis} axis @param {Keep} keep @returns {Segment[] | null}
 */
export function mirrored(chain, axis, keep) {
  if (keep === "last") { const back = mirrored(turned(chain), axis, "first"); return back && turned(back); }
  const c = crossing(chain, axis), f = mirror(axis);
  if (!c) return null;
  const end = c.t > 1 - 1e-6, smooth = !end || (c.i + 1 < chain.length && runsOn(chain[c.i], chain[c.i + 1]));
  let half = [...chain.slice(0, c.i), end ? chain[c.i] : part(chain[c.i], 0, c.t)];
  const rest = [...(end ? [] : [part(chain[c.i], c.t, 1)]), ...chain.slice(c.i + 1)];
  if (keep === "mean") half = mean(half, mapped(turned(rest), f));
  const last = half[half.length - 1], across = point(-axis.dir.y, axis.dir.x);
  // Where it ran on through the axis it shall still do so: there it is square to the axis.
  const reach = dot(sub(last.c, last.d), across);
  if (last.curved && smooth && Math.abs(reach) > 1e-3) half = [...half.slice(0, -1), { ...last, c: add(last.d, times(across, reach)) }];
  return [...half, ...mapped(turned(half), f)];
}

/** The chain between two others that begin and end alike; corners are those of the first. @param {Segment[]} p @param {Segment[]} q */
function mean(p, q) {
  const all = chainLength(p), cuts = [0, ...p.slice(1).flatMap((s, i) => (runsOn(p[i], s) ? [] : [fractionAt(p, i + 1, 0)])), 1];
  return cuts.slice(1).flatMap((to, i) => {
    const from = cuts[i], n = Math.max(8, Math.ceil(((to - from) * all) / 3));
    const pts = Array.from({ length: n + 1 }, (_, k) => { const f = from + ((to - from) * k) / n; return lerp(pointAt(p, f), pointAt(q, f), 0.5); });
    const flat = pts.every((x) => Math.abs(cross(sub(pts[n], pts[0]), sub(x, pts[0]))) < 0.02 * distance(pts[0], pts[n]));
    if (flat) return [{ a: pts[0], b: pts[0], c: pts[n], d: pts[n], curved: false }];
    const go = unit(sub(pts[1], pts[0])), back = unit(sub(pts[n - 1], pts[n]));
    return go && back ? fitCubics(pts, go, back, 0.1) : [];
  });
}

/** Makes a stretch its own mirror image; its ends move where the axis asks for it. @param {Ends} ends @param {Axis} axis @param {Keep} keep @returns {Action} */
export const symmetric = (ends, axis, keep) => (doc) => {
  const knots = knotsOf(doc, ends), chain = knots.length > 1 ? mirrored(chainOf(knots), axis, keep) : null;
  return chain ? put(doc, ends, chain) : doc;
};

/** How much deeper or flatter a borrowed edge may become between ends that stay. */
const LEAST_DEEP = 0.5, MOST_DEEP = 2;

/**
 * An edge laid between two points at its true length. With `stay` its ends lie on
 * them, and its depth gives way; else its shape stays, and each end lies beside
 * its point by the same. Null where that can't be.
 * @param {Segment[]} source @param {Point} a @param {Point} d @param {boolean} stay @returns {Segment[] | null}
 */
export function laid(source, a, d, stay) {
  const o = source[0].a, e = source[source.length - 1].d, from = unit(sub(e, o)), to = unit(sub(d, a)), want = chainLength(source);
  if (!from || !to) return null;
  const was = distance(o, e), now = distance(a, d), side = point(-to.y, to.x);
  /** @param {number} kx @param {number} ky @param {number} shift */
  const lay = (kx, ky, shift) => mapped(source, (p) => { const v = sub(p, o); return add(a, add(times(to, kx * dot(v, from) + shift), times(side, ky * cross(from, v)))); });
  if (!stay) return lay(1, 1, (now - was) / 2);
  const k = solve((y) => chainLength(lay(now / was, y, 0)) - want, LEAST_DEEP, MOST_DEEP);
  return k === null ? null : lay(now / was, k, 0);
}

/** Where a growing function is nothing, to a hundredth of what it counts; null where it is not between the two. @param {(x: number) => number} f @param {number} lo @param {number} hi */
export function solve(f, lo, hi) {
  if (f(lo) > 0.01 || f(hi) < -0.01) return null;
  if (Math.abs(f(1)) < 1e-9) return 1;
  for (let i = 0; i < 50; i++) {
    const mid = (lo + hi) / 2;
    if (f(mid) > 0) hi = mid;
    else lo = mid;
  }
  return (lo + hi) / 2;
}

/** An edge as a twin has it: mirrored, and so walked the other way. @param {Segment[]} chain */
export const twin = (chain) => turned(mapped(chain, (p) => point(-p.x, p.y)));

/** Lays another edge in place of a stretch. @param {Ends} ends @param {Segment[]} source @param {boolean} stay @returns {Action} */
export const borrowed = (ends, source, stay) => (doc) => {
  const knots = knotsOf(doc, ends), chain = knots.length > 1 && source.length > 0 ? laid(source, knots[0].at, knots[knots.length - 1].at, stay) : null;
  return chain ? put(doc, ends, chain) : doc;
};

/** How much a chain turns to and fro, in degrees over 10 cm: all its turning less what is left of it at the end. @param {Segment[]} chain */
export function wobble(chain) {
  let sum = 0, all = 0, before = /** @type {Point | null} */ (null);
  for (const s of chain) {
    const n = s.curved ? STEPS : 1;
    for (let k = 0; k < n; k++) {
      const v = unit(sub(at(s, (k + 1) / n), at(s, k / n)));
      if (v && before) {
        const turn = Math.atan2(cross(before, v), dot(before, v));
        sum += turn;
        all += Math.abs(turn);
      }
      before = v ?? before;
    }
  }
  const l = chainLength(chain);
  return l > 0 ? ((all - Math.abs(sum)) * 180 * 100) / Math.PI / l : 0;
}

/** How much the outline turns to and fro between its corners, outside a stretch: the mean of it. @param {Doc} doc @param {Ends} ends */
export function wobbleOfRest(doc, ends) {
  const rest = knotsOf(doc, { ...ends, from: ends.to, to: ends.from });
  /** @type {Segment[][]} */
  const runs = [];
  chainOf(rest).forEach((s, i) => { if (i === 0 || rest[i].corner) runs.push([s]); else runs[runs.length - 1].push(s); });
  const whole = runs.reduce((l, r) => l + chainLength(r), 0);
  return whole > 0 ? runs.reduce((w, r) => w + wobble(r) * chainLength(r), 0) / whole : 0;
}

/** Widths that are tried, mm. */
const WITHIN = [0.1, 0.2, 0.3, 0.5, 0.75, 1, 1.5, 2, 3, 4, 6, 8];

/** How far a stretch must be let off its line to turn to and fro no more than said; null where 8 mm are too few. @param {Doc} doc @param {Ends} ends @param {number} limit degrees over 10 cm */
export const letOff = (doc, ends, limit) => WITHIN.find((mm) => wobble(chainOf(knotsOf(fair(ends, mm)(doc), ends))) <= limit + 0.5) ?? null;
