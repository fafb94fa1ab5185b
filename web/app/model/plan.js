// What a piece becomes: its edges, marks and label, between file and document.

import { freeze } from "./doc.js";

/** @import {Doc, Edge, Mark, Plan, Point, Rigid, Ring, WireEdge, WireMark, WirePlan, WirePoint} from "../types" */

/** A plan of which nothing is known. @type {Plan} */
export const NO_PLAN = freeze({ edges: null, lost: [], marks: [], label: null, means: "cut-edge", frame: null });

/** @param {Rigid} r @param {Point} p @returns {Point} */
export function toPiece(r, p) {
  const c = Math.cos(r.turn), s = Math.sin(r.turn);
  return { x: c * p.x - s * p.y + r.move.x, y: s * p.x + c * p.y + r.move.y };
}

/** @param {Rigid} r @param {Point} q @returns {Point} */
export function fromPiece(r, q) {
  const c = Math.cos(r.turn), s = Math.sin(r.turn), x = q.x - r.move.x, y = q.y - r.move.y;
  return { x: c * x + s * y, y: -s * x + c * y };
}

const DEGREES = 180 / Math.PI;

/** A direction without a sense, in [0, 180), to a thousandth of a degree. @param {number} deg */
export function halfTurn(deg) {
  const d = Math.round((((deg % 180) + 180) % 180) * 1000) / 1000;
  return d >= 180 ? 0 : d;
}

/** @param {WireEdge} w @param {Ring} ring @returns {Edge} */
const readEdge = (w, ring) => ({ id: w.id, name: w.name, knot: ring[w.knot]?.id ?? -1, old: w.old_allowance ?? { is: "unknown" }, finish: w.finish ?? { kind: "keep" } });

/** @param {WireMark} w @param {Rigid} frame @returns {Mark} */
function readMark({ points_mm, ...w }, frame) {
  return {
    ...w,
    ...(points_mm?.length && { points: points_mm.map(([x, y]) => fromPiece(frame, { x, y })) }),
    ...(w.deg !== undefined && { deg: halfTurn(w.deg - frame.turn * DEGREES) }),
  };
}

/** @param {WirePlan} w @param {Ring} ring the outer outline @returns {Plan} */
export function readPlan(w, ring) {
  if (!w.plane_to_piece) return NO_PLAN;
  const [x, y] = w.plane_to_piece.move, frame = { turn: w.plane_to_piece.turn, move: { x, y } };
  return {
    edges: w.edges?.length ? w.edges.map((e) => readEdge(e, ring)) : null,
    lost: (w.lost_edges ?? []).map((e) => ({ ...readEdge(e, ring), knot: -1 })),
    marks: (w.marks ?? []).map((m) => readMark(m, frame)),
    label: w.label ?? null,
    means: w.outline_means || "cut-edge",
    frame,
  };
}

/** @param {number} v */
const round4 = (v) => Math.round(v * 1e4) / 1e4;

/** @param {Edge} e @param {number} knot */
function writeEdge(e, knot) {
  /** @type {WireEdge} */
  const w = { id: e.id, name: e.name, knot };
  if (e.old.is !== "unknown") w.old_allowance = e.old;
  if (e.finish.kind !== "keep") w.finish = e.finish;
  return w;
}

/** @param {Mark} m @param {Rigid} frame @returns {WireMark} */
function writeMark({ points, ...m }, frame) {
  /** @param {Point} p @returns {WirePoint} */
  const point = (p) => { const q = toPiece(frame, p); return [round4(q.x), round4(q.y)]; };
  return {
    ...m,
    ...(points && { points_mm: points.map(point) }),
    ...(m.deg !== undefined && { deg: halfTurn(m.deg + frame.turn * DEGREES) }),
  };
}

/** What is sent to store a plan; nothing where the service knows none. @param {Doc} doc */
export function writePlan(doc) {
  const frame = doc.frame;
  if (!frame) return {};
  const index = new Map(doc.rings[0]?.map((k, i) => [k.id, i]));
  const edges = doc.edges?.map((e) => writeEdge(e, index.get(e.knot) ?? 0)).sort((a, b) => a.knot - b.knot);
  return {
    ...(edges && { edges }),
    marks: doc.marks.map((m) => writeMark(m, frame)),
    label: doc.label ?? {},
    outline_means: doc.means,
  };
}
