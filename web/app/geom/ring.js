// Measures of whole outlines, and parts of them.

import { between, part, sample, segment } from "./cubic.js";
import { nearest } from "./nearest.js";
import { distance } from "./vec.js";

/** @import {Bounds, Knot, Ring, Segment, Stretch, Point} from "../types" */

/**
 * The box around the rings' control points: it holds the outline, and is a
 * little larger where handles stand out.
 * @param {readonly Ring[]} rings @returns {Bounds}
 */
export function bounds(rings) {
  let minX = Infinity, minY = Infinity, maxX = -Infinity, maxY = -Infinity;
  for (const ring of rings)
    for (const k of ring)
      for (const p of [k.at, k.in, k.out]) {
        if (!p) continue;
        minX = Math.min(minX, p.x);
        maxX = Math.max(maxX, p.x);
        minY = Math.min(minY, p.y);
        maxY = Math.max(maxY, p.y);
      }
  return { minX, minY, maxX, maxY };
}

/** A stretch whose ends are that near on the photo, in millimetres, is a whole ring: shorter ones are not reported. */
const WHOLE = 2;
/** How near the ends of a stretch are, in millimetres, when they may have changed places. */
const OVERLAP = 5;

/** @param {Ring} ring */
const polygon = (ring) => ring.flatMap((_, i) => sample(segment(ring, i)));

/**
 * Centroid and signed area of the polygon through samples of the ring.
 * @param {Ring} ring @returns {{ area: number, centre: Point }}
 */
export function measure(ring) {
  const pts = polygon(ring);
  let area = 0, cx = 0, cy = 0;
  pts.forEach((p, i) => {
    const q = pts[(i + 1) % pts.length], w = p.x * q.y - q.x * p.y;
    area += w / 2;
    cx += (p.x + q.x) * w;
    cy += (p.y + q.y) * w;
  });
  const k = area === 0 ? 0 : 1 / (6 * area);
  return { area, centre: area === 0 ? pts[0] : { x: cx * k, y: cy * k } };
}

/**
 * The parts of the outline that a stretch names: from the place nearest to its
 * beginning along the ring to the place nearest to its end. A stretch that ends
 * where it begins is the whole ring. Empty where an edit has pushed the two
 * ends over each other, so that the way would lead all round.
 * @param {readonly Ring[]} rings @param {Stretch} s @returns {Segment[]}
 */
export function along(rings, s) {
  const from = nearest(rings, s.from);
  const to = from && nearest([rings[from.ring]], s.to);
  if (!from || !to) return [];
  const ring = rings[from.ring], n = ring.length;
  const meant = distance(s.from, s.to), now = distance(from.at, to.at);
  const first = ring.findIndex((k) => k.id === from.id), last = ring.findIndex((k) => k.id === to.id);
  if (first === last && to.t >= from.t && meant > WHOLE) return [part(segment(ring, first), from.t, to.t)];
  const out = [part(segment(ring, first), from.t, 1)];
  for (let i = (first + 1) % n; i !== last; i = (i + 1) % n) out.push(segment(ring, i));
  out.push(part(segment(ring, last), 0, to.t));
  // Short on the photo but long on the way: the ends have changed places.
  if (meant > WHOLE && now < OVERLAP && out.length >= n) return [];
  return out;
}

/** @param {number} v */
const n3 = (v) => Math.round(v * 1000) / 1000;

/** One stretch as SVG path text, without its start. @param {Segment} s */
const drawn = (s) =>
  s.curved ? `C${n3(s.b.x)} ${n3(s.b.y)} ${n3(s.c.x)} ${n3(s.c.y)} ${n3(s.d.x)} ${n3(s.d.y)}` : `L${n3(s.d.x)} ${n3(s.d.y)}`;

/** SVG path text of an open chain, in millimetres, y up. @param {Segment[]} chain */
export function chainPath(chain) {
  return chain.length === 0 ? "" : `M${n3(chain[0].a.x)} ${n3(chain[0].a.y)}` + chain.map(drawn).join("");
}

/** Path text of a knot's stretch to its follower, kept while both stay the same objects. */
const kept = new WeakMap();

/** @param {Knot} k @param {Knot} next @returns {string} */
function stretchPath(k, next) {
  let hit = kept.get(k);
  if (!hit || hit.next !== next) kept.set(k, (hit = { next, d: drawn(between(k, next)) }));
  return hit.d;
}

/** @param {Knot} k */
const moveTo = (k) => `M${n3(k.at.x)} ${n3(k.at.y)}`;

/** SVG path text of a closed ring, in millimetres, y up. @param {Ring} ring */
export function ringPath(ring) {
  if (ring.length === 0) return "";
  return moveTo(ring[0]) + ring.map((k, i) => stretchPath(k, ring[(i + 1) % ring.length])).join("") + "Z";
}

/**
 * The same in two parts: the stretches that a ring has in common with another, and
 * those that it has not. While a knot is dragged the first part stays the same text.
 * @param {Ring} ring @param {Ring} before
 */
export function ringParts(ring, before) {
  if (ring.length !== before.length) return { still: "", moving: ringPath(ring) };
  const n = ring.length, same = ring.map((k, i) => k === before[i] && ring[(i + 1) % n] === before[(i + 1) % n]);
  const part = (/** @type {boolean} */ on) => ring.map((k, i) => (same[i] !== on ? "" : (i === 0 || same[i - 1] !== on ? moveTo(k) : "") + stretchPath(k, ring[(i + 1) % n]))).join("");
  return { still: part(true), moving: part(false) };
}
