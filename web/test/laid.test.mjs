import assert from "node:assert/strict";
import test from "node:test";
import { clash, leaves } from "../app/geom/clash.js";
import { bedOf, inTheWay, ringsOf, slide, turned } from "../app/model/laid.js";

const ring = (...xy) => xy.map(([x, y]) => ({ x, y }));
const box = (x, y, w, h) => ring([x, y], [x + w, y], [x + w, y + h], [x, y + h]);

test("rings clash when they share an area, and not when they touch", () => {
  const a = box(0, 0, 100, 50);
  for (const [what, b, want] of [
    ["beside, touching", box(100, 0, 20, 50), false], ["above, touching along a part", box(20, 50, 30, 10), false], ["a hair inside", box(99.98, 0, 20, 50), false],
    ["inside by 1 mm", box(99, 0, 20, 50), true], ["all within", box(10, 10, 5, 5), true], ["all round", box(-10, -10, 200, 200), true],
    ["the same", box(0, 0, 100, 50), true], ["crossing without a corner inside", box(40, -10, 10, 70), true], ["a spike", ring([50, 48], [60, 80], [40, 80]), true], ["apart", box(101, 0, 5, 5), false],
  ]) {
    assert.equal(clash(a, b), want, what);
    assert.equal(clash(b, a), want, `${what}, the other way`);
  }
  const hook = ring([0, 0], [100, 0], [100, 100], [80, 100], [80, 20], [20, 20], [20, 100], [0, 100]);
  assert.equal(clash(hook, box(20, 20, 60, 80)), false, "in the bay of a hook");
  assert.equal(clash(hook, box(19, 20, 60, 80)), true);
});

test("a gap is kept", () => {
  const a = box(0, 0, 100, 50);
  assert.equal(clash(a, box(105, 0, 10, 10), 5), false);
  assert.equal(clash(a, box(104, 0, 10, 10), 5), true);
  assert.equal(clash(a, box(103, 53, 10, 10), 5), true, "corner to corner, 4.24 mm");
  assert.equal(clash(a, box(104, 54, 10, 10), 5), false, "corner to corner, 5.66 mm");
});

test("a piece that reaches out of a remnant is seen", () => {
  const remnant = ring([0, 0], [200, 0], [200, 100], [100, 50], [0, 100]);
  assert.equal(leaves(box(0, 0, 200, 50), remnant), false);
  assert.equal(leaves(box(0, 0, 200, 60), remnant), true, "over the notch in its side");
});

const shape = (id, w, h, more = {}) => ({ id, piece: id, name: id, layers: 1, count: 1, outline_mm: [[0, 0], [h, 0], [h, w], [0, w]], top_deg: 90, turns: [{ rotation_deg: -90, mirrored: false }, { rotation_deg: 90, mirrored: false }], ...more });
/** Laid with its top to the far end: w along the cloth, h across it, with its corner at x, y. */
const at = (id, x, y, h, more = {}) => ({ id, piece: id, name: id, layers: 1, x, y: y + h, rotation_deg: -90, mirrored: false, ...more });
const plan = { cloth: { width_mm: 500, gap_mm: 0 }, laid_width_mm: 500, pieces: [] };
const shapes = [shape("a", 100, 200), shape("b", 100, 200)];
const near = (got, want, what) => assert.ok(Math.abs(got - want) < 0.2, `${what}: ${got}, want ${want}`);

test("a piece goes where there is room, stops at others, and slides along them", () => {
  const pieces = [at("a", 0, 0, 200), at("b", 100, 0, 200)], bed = bedOf(plan);
  const rings = ringsOf(shapes, pieces);
  assert.equal(inTheWay(rings[0], 0, rings, bed), null, "laid side by side");
  const free = slide(shapes, pieces, 1, 50, 30, bed);
  assert.deepEqual([free.piece.x, free.piece.y, free.clash], [150, 230, null]);
  const stopped = slide(shapes, pieces, 1, -60, 0, bed);
  assert.deepEqual(stopped.clash, { kind: "piece", index: 0 });
  near(stopped.piece.x, 100, "stopped");
  const along = slide(shapes, pieces, 1, -60, 40, bed);
  near(along.piece.x, 100, "slid, x");
  near(along.piece.y, 240, "slid, y");
  const over = slide(shapes, pieces, 1, -100, 200, bed);
  assert.deepEqual([over.piece.x, over.piece.y, over.clash], [0, 400, null], "past it to where there is room");
  const edge = slide(shapes, pieces, 1, 0, 900, bed);
  near(edge.piece.y, 500, "held by the selvage");
  assert.deepEqual(edge.clash, { kind: "edge" });
});

test("a half stays at the fold", () => {
  const got = slide(shapes, [at("a", 0, 0, 200, { at_fold: true })], 0, 70, 80, bedOf(plan));
  assert.deepEqual([got.piece.x, got.piece.y], [70, 200]);
});

test("flaws and the remnant's edge are in the way", () => {
  const flawed = bedOf({ ...plan, cloth: { ...plan.cloth, flaws_mm: [[[150, 50], [160, 50], [160, 60], [150, 60]]] } });
  const got = slide(shapes, [at("a", 0, 0, 200)], 0, 100, 0, flawed);
  near(got.piece.x, 50, "stopped at the flaw");
  assert.deepEqual(got.clash, { kind: "flaw" });
});

test("turning keeps a piece off others, and only where it may turn", () => {
  const wedge = shape("a", 0, 0, { outline_mm: [[0, 0], [200, 0], [100, 100]] }), pieces = [at("a", 0, 0, 200), at("b", 101, 0, 200)], all = [wedge, shapes[1]];
  const got = turned(all, pieces, 0, bedOf(plan), false);
  assert.ok(got);
  assert.equal(got.piece.rotation_deg, 90);
  const rings = ringsOf(all, [got.piece, pieces[1]]);
  assert.equal(inTheWay(rings[0], 0, rings, bedOf(plan)), null);
  assert.equal(turned([shape("a", 100, 200, { turns: [{ rotation_deg: -90, mirrored: false }] })], [at("a", 0, 0, 200)], 0, bedOf(plan), false), null, "nap");
  assert.equal(turned(shapes, pieces, 1, bedOf(plan), true), null, "one face only");
});
