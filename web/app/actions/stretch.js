// What can be done to a stretch of the outline from one knot to another.

import { at, runsOn, sample, segment, split, way } from "../geom/cubic.js";
import { fitCubics } from "../geom/fit.js";
import { nearestOn } from "../geom/nearest.js";
import { along } from "../geom/ring.js";
import { add, distance, sub, times, unit } from "../geom/vec.js";
import { freeze, freshId } from "../model/doc.js";

/** @import {Action, Doc, Knot, Point, Ring, Segment} from "../types" */

/** @typedef {{ ring: number, from: number, to: number }} Ends knot ids; the stretch runs in the outline's direction */

/** The stretch's knots in order, both ends included; empty where it is none. @param {Doc} doc @param {Ends} ends @returns {Knot[]} */
export function knotsOf(doc, { ring, from, to }) {
  const all = doc.rings[ring] ?? [], i = all.findIndex((k) => k.id === from), j = all.findIndex((k) => k.id === to);
  if (i < 0 || j < 0 || i === j) return [];
  return Array.from({ length: ((j - i + all.length) % all.length) + 1 }, (_, n) => all[(i + n) % all.length]);
}

/** @param {Knot[]} knots @returns {Segment[]} */
export const chainOf = (knots) => knots.slice(1).map((_, i) => segment(knots, i));

/** Makes a stretch one straight line. @param {Ends} ends @returns {Action} */
export const straighten = (ends) => (doc) => {
  const knots = knotsOf(doc, ends);
  if (knots.length < 2) return doc;
  const a = knots[0].at, d = knots[knots.length - 1].at;
  return put(doc, ends, [{ a, b: a, c: d, d, curved: false }]);
};

/**
 * Makes a stretch fair: the fewest curves that stay within a distance of what
 * is there, and run on into each other. Corners between its ends go.
 * @param {Ends} ends @param {number} within mm @returns {Action}
 */
export const fair = (ends, within) => (doc) => {
  const knots = knotsOf(doc, ends);
  if (knots.length < 2) return doc;
  const chain = chainOf(knots), pts = walked(chain);
  const last = chain[chain.length - 1], end = way(last, false);
  const start = (knots[0].corner && heading(pts, within)) || way(chain[0], true), back = (knots[knots.length - 1].corner && heading([...pts].reverse(), within)) || (end && times(end, -1));
  return start && back ? put(doc, ends, fitCubics(pts, start, back, within)) : doc;
};

/** Where a trembling line heads from its first point: at a corner nothing else says how it begins. @param {Point[]} pts about 2 mm apart @param {number} within mm */
function heading(pts, within) {
  const near = pts.slice(1, Math.max(2, Math.min(Math.ceil(pts.length / 4), Math.round(within * HEADING))));
  return unit(sub(times(near.reduce(add), 1 / near.length), pts[0]));
}

/** Over how many points its beginning is taken, for each mm that a line may be left by. */
const HEADING = 6;

/**
 * Puts the part of another outline that runs between the same two ends in place
 * of a stretch, such as what the photo showed. Its own ends move onto those of
 * the stretch. The same document where it runs there another way.
 * @param {Ends} ends @param {Ring} other @returns {Action}
 */
export const followed = (ends, other) => (doc) => {
  const knots = knotsOf(doc, ends);
  if (knots.length < 2 || other.length < 3) return doc;
  const a = knots[0].at, d = knots[knots.length - 1].at, way = along([other], { from: a, to: d, why: "" }).filter((s) => distance(s.a, s.d) > LEAST);
  if (way.length === 0) return doc;
  const first = way[0], last = way[way.length - 1];
  // Ends that lie far beside the other outline do not belong to it.
  if (distance(first.a, a) > FAR || distance(last.d, d) > FAR) return doc;
  const chain = way.map((s, i) => ({
    ...s,
    ...(i === 0 && { a, b: s.curved ? add(s.b, sub(a, s.a)) : a }), ...(i === way.length - 1 && { d, c: s.curved ? add(s.c, sub(d, s.d)) : d }),
  }));
  return put(doc, ends, chain);
};

/** Shorter parts are dropped, mm. */
const LEAST = 1e-3;
/** An end may have been moved so far from the outline that is followed, mm. */
const FAR = 60;

/** Points along a chain about 2 mm apart, at least a dozen. @param {Segment[]} chain */
function walked(chain) {
  const span = chain.reduce((s, c) => s + distance(c.a, c.b) + distance(c.b, c.c) + distance(c.c, c.d), 0), step = Math.min(2, span / 24);
  const pts = chain.flatMap((s) => {
    const n = Math.max(2, Math.ceil((distance(s.a, s.b) + distance(s.b, s.c) + distance(s.c, s.d)) / step));
    return s.curved ? sample(s, n) : Array.from({ length: n }, (_, i) => at(s, i / n));
  });
  return [...pts, chain[chain.length - 1].d];
}

/**
 * Puts segments in place of a stretch, whose ends go where the segments end.
 * Knots between them at which an edge begins stay, on the nearest place of the new line.
 * @param {Doc} doc @param {Ends} ends @param {Segment[]} chain @returns {Doc}
 */
export function put(doc, ends, chain) {
  const old = knotsOf(doc, ends), first = old[0], last = old[old.length - 1];
  const begins = new Set(ends.ring === 0 ? doc.edges?.map((e) => e.knot) : []);
  const { segments, ids } = withPlaces(chain, old.slice(1, -1).filter((k) => begins.has(k.id)));
  let fresh = freshId(doc);
  const middle = segments.slice(1).map((s, i) => /** @type {Knot} */ ({
    id: ids[i] ?? fresh++, at: s.a, in: segments[i].curved ? segments[i].c : null, out: s.curved ? s.b : null, corner: (!s.curved && !segments[i].curved) || !runsOn(segments[i], s),
  }));
  const end = segments[segments.length - 1], head = { ...moved(first, segments[0].a), out: segments[0].curved ? segments[0].b : null }, tail = { ...moved(last, end.d), in: end.curved ? end.c : null };
  const ring = doc.rings[ends.ring], gone = new Set(old.slice(1, -1).map((k) => k.id));
  const next = ring.filter((k) => !gone.has(k.id)).flatMap((k) => (k === first ? [settle(head), ...middle] : k === last ? [settle(tail)] : [k]));
  if (next.length < 3) return doc;
  return freeze({ ...doc, rings: doc.rings.map((r, i) => (i === ends.ring ? turnTo(next, ring) : r)) });
}

/** A smooth knot whose two sides no longer run on is a corner. @param {Knot} k @returns {Knot} */
function settle(k) {
  if (k.corner) return k;
  const come = k.in && unit(sub(k.at, k.in)), go = k.out && unit(sub(k.out, k.at));
  return come && go && come.x * go.x + come.y * go.y > 0.9999 ? k : { ...k, corner: true };
}

/** The ring begun at the old first knot where that is still there. @param {Knot[]} next @param {Ring} ring @returns {Ring} */
function turnTo(next, ring) {
  const i = next.findIndex((k) => k.id === ring[0].id);
  return i > 0 ? [...next.slice(i), ...next.slice(0, i)] : next;
}

/**
 * The chain cut at the places nearest to some knots, in their order.
 * @param {Segment[]} chain @param {Knot[]} keep @returns {{ segments: Segment[], ids: (number | null)[] }} ids of the knots between the segments
 */
function withPlaces(chain, keep) {
  const segments = [...chain], ids = /** @type {(number | null)[]} */ (chain.slice(1).map(() => null));
  let least = 0;
  for (const k of keep) {
    let best = { i: least, t: 0.5, far: Infinity };
    for (let i = least; i < segments.length; i++) {
      const t = Math.min(0.99, Math.max(0.01, nearestOn(segments[i], k.at))), far = distance(at(segments[i], t), k.at);
      if (far < best.far) best = { i, t, far };
    }
    segments.splice(best.i, 1, ...split(segments[best.i], best.t));
    ids.splice(best.i, 0, k.id);
    least = best.i + 1;
  }
  return { segments, ids };
}

/** Gives the straight stretch after a knot a length: its far end moves along it. @param {number} id @param {number} mm @returns {Action} */
export const setLength = (id, mm) => (doc) => {
  const r = doc.rings.findIndex((ring) => ring.some((k) => k.id === id)), ring = doc.rings[r];
  const i = ring?.findIndex((k) => k.id === id) ?? -1;
  if (i < 0 || !(mm > 0)) return doc;
  const s = segment(ring, i), next = ring[(i + 1) % ring.length], way = unit(sub(s.d, s.a));
  if (s.curved || !way || Math.abs(distance(s.a, s.d) - mm) < 1e-6) return doc;
  const far = moved(next, add(s.a, times(way, mm)));
  return freeze({ ...doc, rings: doc.rings.map((x, j) => (j === r ? x.map((k) => (k === next ? far : k)) : x)) });
};

/** A knot put elsewhere with its handles. @param {Knot} k @param {Point} to @returns {Knot} */
export function moved(k, to) {
  const by = sub(to, k.at);
  return by.x === 0 && by.y === 0 ? k : { ...k, at: to, in: k.in && add(k.in, by), out: k.out && add(k.out, by) };
}
