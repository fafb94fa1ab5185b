import assert from "node:assert/strict";
import test from "node:test";
import { drawnTo, guidesOf, handleGuides, lengthOff } from "../app/geom/guides.js";
import { moveTool } from "../app/tools/move.js";
import { begin } from "../app/history.js";
import { readPiece } from "../app/model/codec.js";
import { wirePiece } from "./helpers.mjs";

const UP = { x: 0, y: 1 };
/** A five-cornered piece of lines; ids count from 1. */
const ring = readPiece({ ...wirePiece(), holes: [], knots: [[0, 0], [100, 0], [100, 60], [60, 100], [0, 80]].map((at) => ({ at, corner: true })) }).rings[0];
const near = (p, q) => assert.ok(Math.hypot(p.x - q.x, p.y - q.y) < 1e-6, `${p.x}, ${p.y} for ${q.x}, ${q.y}`);
const whys = (on) => on.map((g) => g.why).sort();

test("a point is drawn level, plumb, in line and square, where it is near enough", () => {
  const guides = guidesOf(ring, 2, new Set([3]), UP, []);
  const level = drawnTo({ x: 130, y: 79.2 }, guides, 2);
  near(level.at, { x: 130, y: 80 });
  assert.deepEqual([whys(level.on), level.on[0].name], [["level"], "5"]);
  const both = drawnTo({ x: 99.3, y: 81 }, guides, 2);
  near(both.at, { x: 100, y: 80 });
  assert.ok(whys(both.on).includes("level"));
  // Square to the lower edge at point 2 is plumb with it as well: the edge is said.
  assert.equal(drawnTo({ x: 99.3, y: 50 }, guides, 2).on[0].why, "square");
  // The edge from point 5 to point 4 goes on so.
  const line = drawnTo({ x: 119.5, y: 120.4 }, guides, 1);
  assert.equal(line.on[0].why, "line");
  assert.ok(Math.abs(line.at.y - 80 - line.at.x / 3) < 1e-9);
  near(drawnTo({ x: 150, y: 33 }, guides, 2).at, { x: 150, y: 33 });
});

test("the fold goes before other lines, and is met with the edge beside", () => {
  const fold = { at: { x: 50, y: -10 }, dir: UP, name: "centre" }, guides = guidesOf(ring, 3, new Set([4]), UP, [fold]);
  const on = drawnTo({ x: 51, y: 79 }, guides, 3);
  near(on.at, { x: 50, y: 80 });
  // Level with point 5 is square to the edge that ends there.
  assert.deepEqual(whys(on.on), ["fold", "square"]);
});

test("a length is reached, along another line too", () => {
  // Edge 2-3 is 60 mm and is to be 70; point 3 ends it.
  const off = lengthOff(ring, 2, true, false, 60 - 70), guides = [{ at: ring[2].at, dir: UP, why: "length", name: "back", off }];
  const free = drawnTo({ x: 103, y: 69 }, guides, 2);
  assert.ok(Math.abs(Math.hypot(free.at.x - 100, free.at.y) - 70) < 1e-4);
  const both = drawnTo({ x: 100.5, y: 69 }, [...guides, ...guidesOf(ring, 2, new Set([3]), UP, [])], 2);
  near(both.at, { x: 100, y: 70 });
  assert.ok(whys(both.on).includes("length"));
});

test("a handle is drawn to run on, and square to the edge", () => {
  const guides = handleGuides(ring, 2, "out", { x: 0.6, y: 0.8 });
  near(drawnTo({ x: 100.8, y: 90 }, guides, 2).at, { x: 100, y: 90 });
  assert.equal(drawnTo({ x: 100.8, y: 90 }, guides, 2).on[0].why, "smooth");
  const square = drawnTo({ x: 70, y: 61 }, guides, 2);
  near(square.at, { x: 70, y: 60 });
  assert.equal(square.on[0].why, "square");
});

test("points that move along draw nothing", () => {
  const all = new Set(ring.map((k) => k.id));
  assert.deepEqual(guidesOf(ring, 2, all, UP, []), []);
});

test("with Alt held a drag goes where the pointer is", () => {
  let h = begin(readPiece(wirePiece()), ""), let_go = 0;
  const asked = [], b = {
    doc: () => h.present.doc, selection: () => new Set([2]), select() {}, hit: () => ({ kind: "knot", id: 2 }), toPlane: (p) => p, loupe() {},
    magnet: () => (p) => { asked.push(p); return { x: 111, y: 5 }; }, unmagnet: () => let_go++,
    drag: (a) => { h = begin(a(begin(readPiece(wirePiece()), "").present.doc), ""); }, endDrag() {}, cancelDrag() {},
  };
  const tool = moveTool(b), g = { from: { x: 100, y: 0 }, pointer: "mouse", extend: false };
  tool.gesture({ type: "dragstart", at: g.from, ...g });
  tool.gesture({ type: "drag", at: { x: 110, y: 4 }, ...g });
  assert.deepEqual(h.present.doc.rings[0][1].at, { x: 111, y: 5 });
  tool.gesture({ type: "drag", at: { x: 110, y: 4 }, ...g, free: true });
  assert.deepEqual([h.present.doc.rings[0][1].at, let_go, asked.length], [{ x: 110, y: 4 }, 1, 1]);
});
