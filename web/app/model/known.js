// Things of known size that the person points out in a photo, where no scale card
// could be printed. Points are pixels of the upright photo, x right, y down.

/** @import {KnownKind, Pixel, WireReference} from "../types" */

/** A sheet has four corners to click; a bank card's are round, so two points on each of its edges. @type {Record<KnownKind, number>} */
export const POINTS = { a4: 4, letter: 4, "bank-card": 8 };
export const KINDS = /** @type {const} */ (["a4", "letter", "bank-card"]);
/** How many the service takes. */
export const MOST = 4;

/** Shorter sides say nothing, as the service holds it too. */
const LEAST_SIDE = 30;

/** @param {KnownKind} kind @param {readonly Pixel[]} points */
export const isWhole = (kind, points) => points.length === POINTS[kind];

/** Where the line through a, b meets that through c, d; null where they hardly meet. @param {Pixel} a @param {Pixel} b @param {Pixel} c @param {Pixel} d @returns {Pixel | null} */
function meet(a, b, c, d) {
  const u = { x: b.x - a.x, y: b.y - a.y }, v = { x: d.x - c.x, y: d.y - c.y };
  const cross = u.x * v.y - u.y * v.x;
  if (!(Math.abs(cross) > 0.1 * Math.hypot(u.x, u.y) * Math.hypot(v.x, v.y))) return null;
  const t = ((c.x - a.x) * v.y - (c.y - a.y) * v.x) / cross;
  return { x: a.x + t * u.x, y: a.y + t * u.y };
}

/** The four corners that the points mean; null while some are missing or do not go round. @param {KnownKind} kind @param {readonly Pixel[]} points @returns {Pixel[] | null} */
export function cornersOf(kind, points) {
  if (!isWhole(kind, points)) return null;
  const out = points.length === 4 ? [...points] : [0, 2, 4, 6].map((i) => meet(points[i], points[i + 1], points[(i + 2) % 8], points[(i + 3) % 8]));
  const corners = /** @type {Pixel[]} */ (out.filter(Boolean));
  return corners.length === 4 && goesRound(corners) ? corners : null;
}

/** Whether four corners go round a convex figure with sides that say something. @param {readonly Pixel[]} c */
function goesRound(c) {
  const turns = c.map((a, i) => {
    const b = c[(i + 1) % 4], d = c[(i + 2) % 4];
    return Math.sign((b.x - a.x) * (d.y - b.y) - (b.y - a.y) * (d.x - b.x));
  });
  return Math.abs(turns.reduce((sum, t) => sum + t, 0)) === 4 && c.every((a, i) => Math.hypot(a.x - c[(i + 1) % 4].x, a.y - c[(i + 1) % 4].y) >= LEAST_SIDE);
}

/** @param {{ kind: KnownKind, points: readonly Pixel[] }} thing @returns {WireReference} */
export const writeReference = ({ kind, points }) => ({ kind, points_px: points.map((p) => [Math.round(p.x * 10) / 10, Math.round(p.y * 10) / 10]) });

/** @param {WireReference} r */
export const readReference = (r) => ({ kind: r.kind, points: r.points_px.map(([x, y]) => ({ x, y })) });
