// What the service drew of a piece, as the page shows it: in the plane frame.

import { bounds, chainPath, ringPath } from "../geom/ring.js";
import { fromPiece } from "./plan.js";

/** @import {Draft, Point, Rigid, Ring, Segment, WireDraft, WireKnot, WirePoint} from "../types" */

/** @param {WireDraft} w @param {Rigid} known the frame of the document, where the draft names none @returns {Draft} */
export function readDraft(w, known) {
  const its = w.plane_to_piece, frame = its ? { turn: its.turn, move: { x: its.move[0], y: its.move[1] } } : known;
  /** @param {WirePoint} p */
  const point = ([x, y]) => fromPiece(frame, { x, y });
  /** @param {WireKnot[]} knots @returns {Ring} */
  const ring = (knots) => knots.map((k, i) => ({ id: i, at: point(k.at), in: k.in ? point(k.in) : null, out: k.out ? point(k.out) : null, corner: k.corner }));
  /** @param {WirePoint[]} pts */
  const line = (pts) => chainPath(steps(pts.map(point)));
  const cut = [w.cut_line, ...(w.holes ?? [])].map(ring);
  return {
    cut: cut.map(ringPath).join(""), stitch: ringPath(ring(w.stitch_line)), box: bounds(cut),
    folds: (w.fold_lines ?? []).map((f) => line(f.points_mm)).join(""),
    marks: (w.marks ?? []).flatMap((m) => m.lines_mm ?? []).map(line).join(""),
    edges: w.edges, label: w.label ?? [],
    findings: (w.findings ?? []).map((f) => (f.where_mm ? { ...f, where_mm: pair(point(f.where_mm)) } : f)),
  };
}

/** @param {Point} p @returns {WirePoint} */
const pair = (p) => [p.x, p.y];

/** @param {Point[]} pts @returns {Segment[]} */
const steps = (pts) => pts.slice(1).map((d, i) => ({ a: pts[i], b: pts[i], c: d, d, curved: false }));
