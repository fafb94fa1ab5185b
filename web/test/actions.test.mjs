import assert from "node:assert/strict";
import test from "node:test";
import { addStroke } from "../app/actions/addStroke.js";
import { clearStrokes } from "../app/actions/clearStrokes.js";
import { deleteKnots, disabled } from "../app/actions/deleteKnots.js";
import { moveHandle } from "../app/actions/moveHandle.js";
import { moveKnots } from "../app/actions/moveKnots.js";
import { rename } from "../app/actions/rename.js";
import { setCorner } from "../app/actions/setCorner.js";
import { setSegment } from "../app/actions/setSegment.js";
import { splitSegment } from "../app/actions/splitSegment.js";
import { takeOutline } from "../app/actions/takeOutline.js";
import { at, segment } from "../app/geom/cubic.js";
import { distance, sub } from "../app/geom/vec.js";
import { begin, perform, redo, replace, undo } from "../app/history.js";
import { find, freshId } from "../app/model/doc.js";
import { fault } from "../app/model/validate.js";
import { doc, frozen, random, randomDoc } from "./helpers.mjs";

const one = (id) => new Set([id]);
const pick = (rand, d) => d.rings[0][Math.floor(rand() * d.rings[0].length)].id;

/** Every action with random arguments; each is expected to change something most of the time. */
const ACTIONS = {
  moveKnots: (rand, d) => moveKnots(one(pick(rand, d)), { x: rand() - 0.5, y: rand() - 0.5 }),
  moveHandle: (rand, d) => moveHandle(pick(rand, d), rand() < 0.5 ? "in" : "out", { x: rand() * 300, y: rand() * 300 }),
  splitSegment: (rand, d) => splitSegment(pick(rand, d), 0.05 + rand() * 0.9, freshId(d)),
  deleteKnots: (rand, d) => deleteKnots(one(pick(rand, d))),
  setCorner: (rand, d) => setCorner(pick(rand, d), rand() < 0.5),
  setSegment: (rand, d) => setSegment(pick(rand, d), rand() < 0.5),
  addStroke: (rand) => addStroke({ kind: "not-cloth", width: 5, points: [{ x: rand(), y: 1 }] }),
  clearStrokes: () => clearStrokes(),
  takeOutline: (rand, d) => takeOutline(randomDoc(rand, 5).rings, d.sure),
  rename: (rand) => rename(`Sleeve ${Math.floor(rand() * 100)}`),
};

for (const [name, make] of Object.entries(ACTIONS))
  test(`${name}: frozen result, input untouched, undo and redo give the identical objects`, () => {
    const rand = random(7);
    let changed = 0;
    for (let i = 0; i < 80; i++) {
      const before = randomDoc(rand, 4 + Math.floor(rand() * 8)), text = JSON.stringify(before);
      const after = make(rand, before)(before);
      assert.equal(JSON.stringify(before), text);
      assert.ok(frozen(after));
      assert.equal(fault(after), null);
      if (after === before) continue;
      changed++;
      const done = perform(begin(before, "open"), after, name);
      assert.equal(undo(done).present.doc, before);
      assert.equal(redo(undo(done)).present.doc, after);
    }
    assert.ok(changed >= 20, `only ${changed} of 80 runs changed the document`);
  });

test("parts that an action leaves alone are shared", () => {
  const d = doc(), moved = moveKnots(one(2), { x: 1, y: 0 })(d);
  assert.equal(moved.rings[1], d.rings[1]);
  assert.equal(moved.rings[0][3], d.rings[0][3]);
  assert.equal(moveKnots(one(2), { x: 0, y: 0 })(d), d);
  assert.equal(moveKnots(one(999), { x: 1, y: 0 })(d), d);
});

test("a knot takes its handles along", () => {
  const k = find(moveKnots(one(4), { x: 3, y: -2 })(doc()), 4).knot;
  assert.deepEqual([k.at, k.in, k.out], [{ x: 53, y: 118 }, { x: 73, y: 118 }, { x: 33, y: 118 }]);
});

test("the other handle of a smooth knot turns and keeps its length", () => {
  const k = find(moveHandle(4, "in", { x: 50, y: 140 })(doc()), 4).knot;
  assert.ok(distance(k.out, { x: 50, y: 100 }) < 1e-9);
});

test("a smooth knot's handle beside a line stays on the line's continuation", () => {
  const k = find(moveHandle(5, "in", { x: 30, y: 130 })(doc()), 5).knot;
  assert.ok(Math.abs(k.in.x) < 1e-9 && Math.abs(k.in.y - 130) < 1e-9);
});

test("adding a knot does not change the shape, deleting it again gives the old curve back", () => {
  const rand = random(11);
  for (let i = 0; i < 60; i++) {
    const d = randomDoc(rand, 6), n = Math.floor(rand() * 6), t = 0.15 + 0.7 * rand();
    const id = d.rings[0][n].id, old = segment(d.rings[0], n), added = freshId(d);
    const more = splitSegment(id, t, added)(d);
    assert.ok(distance(find(more, added).knot.at, at(old, t)) < 1e-9);
    const back = segment(deleteKnots(one(added))(more).rings[0], n);
    if (distance(old.b, old.a) + distance(old.c, old.d) < 1) continue; // nothing to tell the share of each side by
    for (const u of [0.2, 0.5, 0.8]) assert.ok(distance(at(back, u), at(old, u)) < 1e-6);
  }
});

test("three knots always stay, a hole may go as a whole", () => {
  const d = doc(), hole = new Set(d.rings[1].map((k) => k.id));
  assert.equal(disabled(d, new Set([1, 2, 3])), "few");
  assert.equal(deleteKnots(new Set([1, 2, 3]))(d), d);
  assert.equal(disabled(d, new Set([...hole].slice(1))), "few");
  assert.equal(deleteKnots(hole)(d).rings.length, 1);
});

test("a knot made smooth has both handles on one line", () => {
  const k = find(setCorner(3, false)(doc()), 3).knot;
  assert.equal(k.in, null); // the stretch before it is a line and stays one
  assert.ok(Math.abs(k.out.x - 100) < 1e-9 && k.out.y > 80);
  const both = find(setCorner(1, false)(doc()), 1).knot;
  const a = sub(both.in, both.at), b = sub(both.out, both.at);
  assert.ok(Math.abs(a.x * b.y - a.y * b.x) < 1e-9 && a.x * b.x + a.y * b.y < 0);
});

test("line to curve keeps the shape, curve to line makes corners", () => {
  const d = doc(), curve = setSegment(1, true)(d), s = segment(curve.rings[0], 0);
  assert.ok(s.curved);
  assert.ok(Math.abs(at(s, 0.3).y) < 1e-9);
  const line = setSegment(3, false)(d);
  assert.equal(segment(line.rings[0], 2).curved, false);
  assert.ok(find(line, 4).knot.corner);
});

test("a drag leaves one step, whatever came between", () => {
  const d = doc();
  let h = begin(d, "open");
  h = perform(h, moveKnots(one(1), { x: 1, y: 0 })(d), "Move");
  for (let i = 2; i < 50; i++) h = replace(h, moveKnots(one(1), { x: i, y: 0 })(d));
  assert.equal(h.past.length, 1);
  assert.equal(undo(h).present.doc, d);
});

test("an edit after undo drops what was undone; the same document is no step", () => {
  const d = doc(), a = rename("A")(d), b = rename("B")(d);
  const h = perform(undo(perform(begin(d, "open"), a, "a")), b, "b");
  assert.equal(h.future.length, 0);
  assert.equal(perform(h, b, "again"), h);
  assert.equal(undo(begin(d, "open")).present.doc, d);
  assert.equal(redo(h), h);
});
