import assert from "node:assert/strict";
import test from "node:test";
import { readPiece, readTraced, writePiece } from "../app/model/codec.js";
import { fault } from "../app/model/validate.js";
import { rename } from "../app/actions/rename.js";
import { doc, frozen, wirePiece } from "./helpers.mjs";

test("reading and writing gives the same knots, holes and strokes", () => {
  const w = wirePiece();
  const { name, knots, holes, strokes, uncertainty_mm, fray_mm, unsure } = w;
  assert.deepEqual(writePiece(readPiece(w)), { name, knots, holes, strokes, uncertainty_mm, fray_mm, unsure: unsure ?? [] });
});

test("what a new trace said goes along with its outline", () => {
  const w = { ...wirePiece(), uncertainty_mm: 0.7, fray_mm: 0, unsure: [{ from_mm: [1, 2], to_mm: [3, 4], why: "shadow" }], grain: { deg: 87.5, sure: 0.9 } };
  const sent = writePiece(readPiece(w));
  assert.deepEqual([sent.uncertainty_mm, sent.fray_mm, sent.unsure, sent.grain], [0.7, 0, w.unsure, w.grain]);
  assert.ok(!("grain" in writePiece(readPiece({ ...w, grain: null }))));
});

test("a document is frozen all through and its knots have ids of their own", () => {
  const d = doc();
  assert.ok(frozen(d));
  const ids = d.rings.flat().map((k) => k.id);
  assert.equal(new Set(ids).size, ids.length);
});

test("null lists are empty lists", () => {
  const d = readPiece({ ...wirePiece(), holes: null, strokes: null, unsure: null });
  assert.deepEqual([d.rings.length, d.strokes.length, d.sure.unsure.length], [1, 0, 0]);
});

test("a traced outline's ids go on from the given one", () => {
  const { rings } = readTraced({ knots: wirePiece().knots, hole_knots: [], uncertainty_mm: 1, fray_mm: 0, unsure: null }, 50);
  assert.deepEqual(rings[0].map((k) => k.id), [50, 51, 52, 53, 54]);
});

test("coordinates are rounded to a ten-thousandth of a millimetre", () => {
  const w = wirePiece();
  w.knots[0].at = [1.23456789, -0.00001];
  assert.deepEqual(writePiece(readPiece(w)).knots[0].at, [1.2346, -0]);
});

test("what the service would turn down is named", () => {
  assert.equal(fault(doc()), null);
  assert.equal(fault(rename("  ")(doc())), "name");
  assert.equal(fault({ ...doc(), rings: [doc().rings[0].slice(0, 2)] }), "few");
  const bad = { ...doc().rings[0][0], at: { x: NaN, y: 0 } };
  assert.equal(fault({ ...doc(), rings: [[bad, ...doc().rings[0].slice(1)]] }), "number");
});
