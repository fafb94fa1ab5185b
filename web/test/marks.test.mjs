import assert from "node:assert/strict";
import { test } from "node:test";
import { addMark } from "../app/actions/marks.js";
import { readPiece } from "../app/model/codec.js";
import { newMark, seenNotches } from "../app/model/marks.js";
import { wirePiece } from "./helpers.mjs";

/** The outline runs from (0, 0) to (100, 0) to (100, 80) and on; one edge a side of it. */
const doc = readPiece({ ...wirePiece(), edges: [{ id: "hem", name: "hem", knot: 0 }, { id: "side", name: "side", knot: 1 }, { id: "top", name: "top", knot: 2 }], marks: [], plane_to_piece: { turn: 0, move: [0, 0] } });
/** A trace that saw cuts at these places. */
const saw = (...places) => ({ pieces: [{ notch_cuts: places.map((at_mm) => ({ at_mm, depth_mm: 4, width_mm: 4, sure: 0.8 })) }, {}] });

test("a cut is offered as a notch on the edge that it lies in", () => {
  const [one, ...more] = seenNotches(doc, saw([30, 2]));
  assert.equal(more.length, 0);
  assert.deepEqual({ ...one.mark, at: 0 }, { id: one.mark.id, kind: "notch", edge: "hem", at: 0 });
  assert.ok(Math.abs(one.mark.at - 0.3) < 1e-6);
  assert.deepEqual([one.on, Math.round(one.along), one.deep, one.sure], ["hem", 30, 4, 0.8]);
});

test("a cut that is a notch already is not offered, another beside it is", () => {
  const [one] = seenNotches(doc, saw([30, 2])), with1 = addMark(one.mark)(doc);
  assert.equal(seenNotches(with1, saw([33, -1])).length, 0);
  const [two] = seenNotches(with1, saw([30, 2], [38, 1]));
  assert.ok(Math.abs(two.mark.at - 0.38) < 1e-6);
  assert.notEqual(two.mark.id, one.mark.id);
});

test("nothing is offered without a trace, or of a cut far from this outline", () => {
  assert.deepEqual([...seenNotches(doc, null), ...seenNotches(doc, { pieces: [{}] }), ...seenNotches(doc, saw([300, 300]))], []);
});

test("a piece has one grain line: a new one takes the place of the old", () => {
  const line = (id, x) => ({ id, kind: "grain", points: [{ x, y: 0 }, { x, y: 60 }] });
  const two = addMark(line("b", 40))(addMark(line("a", 20))(addMark({ id: "n", kind: "notch", edge: "hem", at: 0.5 })(doc)));
  assert.deepEqual(two.marks.map((m) => m.id), ["n", "b"]);
});

test("a dart opens on the edge that was tapped first, and its tip lies where the second tap was", () => {
  const made = newMark(doc, "dart", [{ x: 50, y: -3 }, { x: 50, y: 40 }], "");
  assert.deepEqual({ ...made, id: "" }, { id: "", kind: "dart", edge: "hem", at: 0.5, width_mm: 20, points: [{ x: 50, y: 40 }] });
  assert.equal(newMark(doc, "dart", [{ x: 400, y: 400 }, { x: 50, y: 40 }], ""), null);
});
