// Pieces on the cloth: where they lie, what is in their way, and how far they can be moved.

import { TOUCH, boxOf, clash, leaves, near } from "../geom/clash.js";

/** @import {Point} from "../types" */
/** @import {Bed, Clash, Laid, LayPlan, LayShape, Turn} from "../lay" */

/** A point of the piece on the cloth. @param {Pick<Laid, "x" | "y" | "rotation_deg" | "mirrored">} l @param {readonly [number, number]} p @returns {Point} */
export function apply(l, [px, py]) {
  const x = l.mirrored ? -px : px, a = (l.rotation_deg * Math.PI) / 180, s = Math.sin(a), c = Math.cos(a);
  return { x: c * x - s * py + l.x, y: s * x + c * py + l.y };
}

/** @param {LayShape} shape @param {Laid} l @returns {readonly Point[]} */
export const ringOf = (shape, l) => shape.outline_mm.map((p) => apply(l, p));

/** The direction of a piece's top on the cloth, degrees. @param {LayShape} shape @param {Turn} t */
export const topOf = (shape, t) => (t.mirrored ? 180 - shape.top_deg : shape.top_deg) + t.rotation_deg;

/** What pieces are held by. @param {LayPlan} plan @returns {Bed} */
export function bedOf(plan) {
  const c = plan.cloth;
  /** @param {readonly (readonly number[])[]} ring */
  const points = (ring) => ring.map(([x, y]) => ({ x, y }));
  return {
    width: plan.laid_width_mm, length: Infinity, gap: c.gap_mm ?? 0,
    remnant: c.remnant_mm?.length ? points(c.remnant_mm) : null, flaws: (c.flaws_mm ?? []).map(points),
  };
}

/** The pieces as rings, to look for what is in the way. @param {readonly LayShape[]} shapes @param {readonly Laid[]} pieces */
export const ringsOf = (shapes, pieces) => pieces.map((l) => { const s = shapes.find((x) => x.id === l.id); return s ? ringOf(s, l) : []; });

/**
 * What is in the way of a ring, or null.
 * @param {readonly Point[]} ring @param {number} self its number @param {readonly (readonly Point[])[]} others all rings @param {Bed} bed @returns {Clash | null}
 */
export function inTheWay(ring, self, others, bed) {
  const b = boxOf(ring);
  if (b.minX < -TOUCH || b.minY < -TOUCH || b.maxY > bed.width + TOUCH || b.maxX > bed.length + TOUCH || (bed.remnant && leaves(ring, bed.remnant))) return { kind: "edge" };
  if (bed.flaws.some((f) => clash(ring, f, bed.gap))) return { kind: "flaw" };
  for (let i = 0; i < others.length; i++) if (i !== self && others[i].length > 2 && near(b, boxOf(others[i]), bed.gap) && clash(ring, others[i], bed.gap)) return { kind: "piece", index: i };
  return null;
}

const STEPS = 9;

/**
 * Moves piece i as far as it goes towards a wish: there if there is room, else along
 * what is in its way, from where it lies. Says what stopped it.
 * @param {readonly LayShape[]} shapes @param {readonly Laid[]} pieces @param {number} i @param {number} dx @param {number} dy @param {Bed} bed
 * @returns {{ piece: Laid, clash: Clash | null }}
 */
export function slide(shapes, pieces, i, dx, dy, bed) {
  const shape = shapes.find((s) => s.id === pieces[i].id), from = pieces[i];
  if (!shape) return { piece: from, clash: null };
  const rings = ringsOf(shapes, pieces), base = rings[i], box = boxOf(base);
  // The sides of the cloth stop it at once; a half stays at the fold.
  const wishX = Math.max(dx, -box.minX), wishY = from.at_fold ? 0 : Math.min(Math.max(dy, -box.minY), bed.width - box.maxY);
  /** @param {number} x @param {number} y */
  const look = (x, y) => inTheWay(base.map((p) => ({ x: p.x + x, y: p.y + y })), i, rings, bed);
  /** @param {number} x @param {number} y */
  const at = (x, y) => ({ ...from, x: from.x + x, y: from.y + y });
  const edge = wishX !== dx || wishY !== dy ? /** @type {Clash} */ ({ kind: "edge" }) : null;
  const there = look(wishX, wishY);
  if (!there) return { piece: at(wishX, wishY), clash: edge };
  if (look(0, 0)) return { piece: from, clash: there };
  /** How far it goes: x and y at part t. @param {(t: number) => [number, number]} way @param {number} most */
  const far = (way, most) => {
    if (!look(...way(most))) return most;
    let lo = 0, hi = most;
    for (let k = 0; k < STEPS; k++) { const t = (lo + hi) / 2; if (look(...way(t))) hi = t; else lo = t; }
    return lo;
  };
  const t = far((u) => [wishX * u, wishY * u], 1), x0 = wishX * t, y0 = wishY * t;
  const u = far((v) => [x0 + (wishX - x0) * v, y0], 1), x1 = x0 + (wishX - x0) * u;
  const w = far((v) => [x1, y0 + (wishY - y0) * v], 1);
  return { piece: at(x1, y0 + (wishY - y0) * w), clash: there };
}

/**
 * Piece i with another of its turns, about its middle, moved up the cloth to where there
 * is room; null where it may lie in no other way.
 * @param {readonly LayShape[]} shapes @param {readonly Laid[]} pieces @param {number} i @param {Bed} bed @param {boolean} over turned over instead of round
 * @returns {{ piece: Laid, moved: number } | null}
 */
export function turned(shapes, pieces, i, bed, over) {
  const l = pieces[i], shape = shapes.find((s) => s.id === l.id);
  if (!shape) return null;
  const now = topOf(shape, l);
  /** @param {Turn} t */
  const off = (t) => Math.abs(((((topOf(shape, t) - now) % 360) + 540) % 360) - 180); // from where its top is now
  const ways = shape.turns.filter((t) => (over ? t.mirrored !== l.mirrored && (l.at_fold || off(t) < 90) : off(t) > 90 && (l.at_fold || t.mirrored === l.mirrored)));
  if (ways.length === 0) return null;
  const turn = { ...l, ...ways[0] }, a = boxOf(ringOf(shape, l)), b = boxOf(ringOf(shape, turn));
  const mid = (/** @type {number} */ p, /** @type {number} */ q) => (p + q) / 2;
  const x = turn.x + mid(a.minX, a.maxX) - mid(b.minX, b.maxX), y = l.at_fold ? turn.y - b.minY : turn.y + mid(a.minY, a.maxY) - mid(b.minY, b.maxY);
  const rings = ringsOf(shapes, pieces), base = ringOf(shape, { ...turn, x, y }), c = boxOf(base);
  const start = Math.max(0, -c.minX), up = Math.min(0, bed.width - c.maxY) + Math.max(0, -c.minY), far = Math.max(...rings.flatMap((r) => r.map((p) => p.x))) + bed.gap;
  /** @param {number} d */
  const blocked = (d) => inTheWay(base.map((p) => ({ x: p.x + d, y: p.y + up })), i, rings, bed);
  const step = 10;
  for (let d = start; d < far - c.minX + step; d += step) {
    if (blocked(d)) continue;
    let lo = Math.max(start, d - step), hi = d;
    if (!blocked(lo)) hi = lo;
    for (let k = 0; k < STEPS && hi > lo; k++) { const m = (lo + hi) / 2; if (blocked(m)) lo = m; else hi = m; }
    return { piece: { ...turn, x: x + hi, y: y + up }, moved: hi };
  }
  return null;
}
