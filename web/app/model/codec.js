// Wire JSON <-> document. Knot ids live in the page only.

import { freeze } from "./doc.js";
import { readPlan, writePlan } from "./plan.js";

/** @import {Doc, Grain, Knot, Point, Ring, Stretch, Sure, WireKnot, WirePiece, WirePoint, WireStretch, WireTracedPiece} from "../types" */

/** @param {WirePoint} p @returns {Point} */
export const readPoint = ([x, y]) => ({ x, y });

/** @param {number} v */
const round4 = (v) => Math.round(v * 1e4) / 1e4;

/** Rounded to a ten-thousandth of a millimetre, as the service writes it. @param {Point} p @returns {WirePoint} */
const writePoint = (p) => [round4(p.x), round4(p.y)];

/** @param {WireStretch} s @returns {Stretch} */
const readStretch = (s) => ({ from: readPoint(s.from_mm), to: readPoint(s.to_mm), why: s.why, ...(s.uncertainty_mm && { uncertainty: s.uncertainty_mm }) });

/** @param {Stretch} s @returns {WireStretch} */
const writeStretch = (s) => ({ from_mm: writePoint(s.from), to_mm: writePoint(s.to), why: s.why, ...(s.uncertainty && { uncertainty_mm: s.uncertainty }) });

/** @param {{ uncertainty_mm: number, fray_mm: number, unsure?: WireStretch[] | null, grain?: Grain | null }} w @returns {Sure} */
const readSure = (w) => ({ uncertainty: w.uncertainty_mm, fray: w.fray_mm, unsure: (w.unsure ?? []).map(readStretch), grain: w.grain ? { deg: w.grain.deg, sure: w.grain.sure } : null });

/** @param {Sure} s */
const writeSure = (s) => ({ uncertainty_mm: s.uncertainty, fray_mm: s.fray, unsure: s.unsure.map(writeStretch), ...(s.grain && { grain: s.grain }) });

/** @param {WireKnot[][]} rings @param {number} firstId @returns {Ring[]} */
function readRings(rings, firstId) {
  let id = firstId;
  return rings.map((ring) =>
    ring.map((k) => ({
      id: id++,
      at: readPoint(k.at),
      in: k.in ? readPoint(k.in) : null,
      out: k.out ? readPoint(k.out) : null,
      corner: k.corner,
    })),
  );
}

/** The document of a stored piece. @param {WirePiece} w @returns {Doc} */
export function readPiece(w) {
  const rings = readRings([w.knots, ...(w.holes ?? [])], 1);
  return freeze({
    name: w.name,
    rings,
    strokes: (w.strokes ?? []).map((s) => ({ kind: s.kind, width: s.width_mm, points: s.points_mm.map(readPoint) })),
    sure: readSure(w),
    ...readPlan(w, rings[0]),
  });
}

/**
 * Rings and certainty of a traced piece; ids count on from firstId, so that
 * none of them is one of the outline that it replaces.
 * @param {WireTracedPiece} w @param {number} firstId
 * @returns {{ rings: readonly Ring[], sure: Sure }}
 */
export function readTraced(w, firstId) {
  return freeze({ rings: readRings([w.knots, ...(w.hole_knots ?? [])], firstId), sure: readSure(w) });
}

/** @param {Knot} k @returns {WireKnot} */
function writeKnot(k) {
  /** @type {WireKnot} */
  const w = { at: writePoint(k.at), corner: k.corner };
  if (k.in) w.in = writePoint(k.in);
  if (k.out) w.out = writePoint(k.out);
  return w;
}

/** @param {Doc} doc */
export const writeStrokes = (doc) =>
  doc.strokes.map((s) => ({ kind: s.kind, width_mm: round4(s.width), points_mm: s.points.map(writePoint) }));

/** What is sent to store a piece, with what the tracing said that its outline comes from. @param {Doc} doc */
export function writePiece(doc) {
  const [knots, ...holes] = doc.rings.map((r) => r.map(writeKnot));
  return { name: doc.name, knots, holes, strokes: writeStrokes(doc), ...writeSure(doc.sure), ...writePlan(doc) };
}
