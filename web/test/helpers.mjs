import { readPiece } from "../app/model/codec.js";

/** A seeded generator (mulberry32), so that a failure can be run again. */
export function random(seed) {
  let a = seed >>> 0;
  return () => {
    a = (a + 0x6d2b79f5) | 0;
    let t = Math.imul(a ^ (a >>> 15), 1 | a);
    t = (t + Math.imul(t ^ (t >>> 7), 61 | t)) ^ t;
    return ((t ^ (t >>> 14)) >>> 0) / 4294967296;
  };
}

/** A piece with lines, curves, corners, smooth knots and a hole. */
export function wirePiece() {
  return {
    id: "p", garment_id: "g", photo_id: "f", name: "Front", version: 3, updated_at: "2026-01-01T00:00:00Z",
    knots: [
      { at: [0, 0], corner: true },
      { at: [100, 0], corner: true },
      { at: [100, 80], out: [90, 110], corner: true },
      { at: [50, 120], in: [70, 120], out: [30, 120], corner: false },
      { at: [0, 80], in: [10, 110], corner: false },
    ],
    holes: [[{ at: [40, 40], corner: true }, { at: [40, 60], corner: true }, { at: [60, 60], corner: true }, { at: [60, 40], corner: true }]],
    strokes: [{ kind: "cloth", width_mm: 8, points_mm: [[1, 2], [3, 4]] }],
    uncertainty_mm: 0.3, fray_mm: 0.5,
    unsure: [{ from_mm: [100, 10], to_mm: [100, 70], why: "shadow" }],
  };
}

export const doc = () => readPiece(wirePiece());

/** A random closed outline of n knots, some of them with handles, some of no length at all. */
export function randomDoc(rand, n) {
  const p = () => [rand() * 300, rand() * 300];
  const knots = Array.from({ length: n }, () => {
    const k = { at: p(), corner: rand() < 0.5 };
    if (rand() < 0.6) k.in = rand() < 0.1 ? [...k.at] : p();
    if (rand() < 0.6) k.out = rand() < 0.1 ? [...k.at] : p();
    return k;
  });
  return readPiece({ ...wirePiece(), knots });
}

/** Whether a value and all that it holds is frozen. */
export function frozen(v) {
  return typeof v !== "object" || v === null || (Object.isFrozen(v) && Object.values(v).every(frozen));
}

/** The same piece with edges, marks and a label, in a frame that is turned and moved. */
export function wirePlanned() {
  return {
    ...wirePiece(),
    outline_means: "cut-edge",
    edges: [
      { id: "edge-1", name: "hem", knot: 0, old_allowance: { is: "length", mm: 10 }, finish: { kind: "hem", depth_mm: 20, turns: 2, turn_under_mm: 8 } },
      { id: "edge-2", name: "side seam", knot: 1, finish: { kind: "seam", allowance_mm: 12 } },
      { id: "edge-3", name: "neck", knot: 2, old_allowance: { is: "none" } },
    ],
    marks: [
      { id: "grain-1", kind: "grain", points_mm: [[50, 10], [50, 90]] },
      { id: "notch-1", kind: "notch", edge: "edge-3", at: 0.5, count: 2 },
      { id: "angle", kind: "grain", deg: 90 },
    ],
    label: { cuts: [{ count: 2, mirrored: true }] },
    plane_to_piece: { turn: 0.3, move: [12, -7] },
  };
}

export const planned = () => readPiece(wirePlanned());
