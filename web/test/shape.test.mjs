import assert from "node:assert/strict";
import test from "node:test";
import { borrowed, laid, letOff, mirror, mirrored, symmetric, twin, wobble, wobbleOfRest } from "../app/actions/shape.js";
import { chainOf, fair, knotsOf } from "../app/actions/stretch.js";
import { chainLength, pointAt } from "../app/geom/arc.js";
import { segment } from "../app/geom/cubic.js";
import { distance } from "../app/geom/vec.js";
import { begin, perform, redo, undo } from "../app/history.js";
import { readPiece } from "../app/model/codec.js";
import { frozen, random, randomDoc, wirePiece } from "./helpers.mjs";

const UP = { at: { x: 50, y: 0 }, dir: { x: 0, y: 1 } };
/** A yoke whose upper edge was drawn unevenly: knots 3, 4, 5 by id, with a corner off the middle. */
const yoke = () => readPiece({ ...wirePiece(), holes: [], knots: [
  { at: [0, 0], corner: true }, { at: [100, 0], corner: true },
  { at: [102, 80], out: [90, 112], corner: true }, { at: [47, 121], in: [70, 125], out: [30, 118], corner: false }, { at: [0, 82], in: [10, 106], corner: true },
] });
const TOP = { ring: 0, from: 3, to: 5 };
const chain = (doc, ends) => chainOf(knotsOf(doc, ends));
/** The greatest distance of a chain from its own mirror image, at equal lengths from its ends. */
const lopsided = (c, axis) => Math.max(...Array.from({ length: 101 }, (_, i) => distance(mirror(axis)(pointAt(c, i / 100)), pointAt(c, 1 - i / 100))));

for (const keep of ["first", "last", "mean"])
  test(`symmetric, ${keep}: the stretch is its own mirror image, and undo gives the identical document`, () => {
    const before = yoke(), after = symmetric(TOP, UP, keep)(before);
    assert.ok(lopsided(chain(before, TOP), UP) > 1);
    assert.ok(lopsided(chain(after, TOP), UP) < 1e-3);
    assert.ok(frozen(after));
    const done = perform(begin(before, ""), after, "");
    assert.equal(undo(done).present.doc, before);
    assert.equal(redo(undo(done)).present.doc, after);
    const ends = knotsOf(after, TOP).map((k) => k.at), first = ends[0], last = ends.at(-1);
    const want = { first: 102, last: 100, mean: 101 }[keep];
    assert.ok(Math.abs(first.x - want) < 1e-6 && Math.abs(last.x - (100 - want)) < 1e-6, `${first.x} ${last.x}`);
  });

test("a half that is kept is kept to the handle, and the top stays smooth", () => {
  const before = readPiece({ ...wirePiece(), holes: [], knots: [
    { at: [0, 0], corner: true }, { at: [100, 0], corner: true },
    { at: [102, 80], out: [90, 112], corner: true }, { at: [50, 121], in: [70, 121], out: [30, 121], corner: false }, { at: [0, 82], in: [10, 106], corner: true },
  ] });
  const after = symmetric(TOP, UP, "first")(before), c = chain(after, TOP);
  const part = Array.from({ length: 21 }, (_, i) => pointAt(chain(before, TOP), i / 42));
  assert.ok(part.every((p, i) => Math.min(...Array.from({ length: 2001 }, (_, k) => distance(p, pointAt(c, k / 4000)))) < 0.05));
  assert.ok(knotsOf(after, TOP).slice(1, -1).every((k) => !k.corner));
  assert.equal(mirrored(c, { at: { x: 300, y: 0 }, dir: { x: 0, y: 1 } }, "first"), null);
});

test("a corner in the kept half comes again in the other one", () => {
  const doc = readPiece({ ...wirePiece(), holes: [], knots: [[0, 0], [100, 0], [100, 80], [80, 120], [30, 118], [0, 82]].map((at) => ({ at, corner: true })) });
  const after = symmetric({ ring: 0, from: 3, to: 6 }, UP, "first")(doc);
  const at = knotsOf(after, { ring: 0, from: 3, to: 6 }).filter((k) => k.corner).map((k) => [k.at.x, k.at.y].map((v) => Math.round(v * 1e3) / 1e3));
  assert.deepEqual(at.filter(([x]) => Math.abs(x - 50) > 1e-3), [[100, 80], [80, 120], [20, 120], [0, 80]]);
});

test("an edge borrowed from the twin keeps its true length at either ends", () => {
  const before = yoke(), source = [{ a: { x: 500, y: 10 }, b: { x: 530, y: 60 }, c: { x: 570, y: 50 }, d: { x: 603, y: 14 }, curved: true }];
  for (const stay of [true, false]) {
    const after = borrowed(TOP, twin(source), stay)(before), c = chain(after, TOP);
    assert.ok(Math.abs(chainLength(c) - chainLength(source)) < 0.01, `stay ${stay}: ${chainLength(c)} for ${chainLength(source)}`);
    const [a, d] = [c[0].a, c.at(-1).d], moved = [distance(a, { x: 102, y: 80 }), distance(d, { x: 0, y: 82 })];
    if (stay) assert.ok(Math.max(...moved) < 1e-9);
    else assert.ok(Math.abs(moved[0] - moved[1]) < 1e-6 && moved[0] > 0);
    assert.equal(undo(perform(begin(before, ""), after, "")).present.doc, before);
  }
});

test("the twin of a twin is the edge itself; an outline is laid on its mirror image", () => {
  const doc = yoke(), c = chain(doc, TOP);
  assert.deepEqual(twin(twin(c)).map((s) => [s.a.x, s.d.y]), c.map((s) => [s.a.x, s.d.y]));
  const flipped = c.map((s) => Object.fromEntries(Object.entries(s).map(([k, v]) => [k, v.x === undefined ? v : { x: -v.x, y: v.y }]))).reverse().map((s) => ({ a: s.d, b: s.c, c: s.b, d: s.a, curved: s.curved }));
  const back = laid(twin(flipped), c[0].a, c.at(-1).d, true);
  assert.ok(Array.from({ length: 21 }, (_, i) => distance(pointAt(back, i / 20), pointAt(c, i / 20))).every((d) => d < 0.01));
});

test("an edge that is too long or too short for ends that stay is refused", () => {
  const straight = (l) => [{ a: { x: 0, y: 0 }, b: { x: 0, y: 0 }, c: { x: l, y: 0 }, d: { x: l, y: 0 }, curved: false }];
  assert.equal(laid(straight(110), { x: 0, y: 0 }, { x: 100, y: 0 }, true), null);
  assert.equal(laid(straight(90), { x: 0, y: 0 }, { x: 100, y: 0 }, true), null);
  assert.ok(laid(straight(100), { x: 0, y: 0 }, { x: 100, y: 0 }, true));
  const doc = yoke();
  assert.equal(borrowed(TOP, straight(400), true)(doc), doc);
});

test("wobble: none on a line and an arc, and what a zigzag turns to and fro", () => {
  const doc = yoke();
  assert.equal(wobble([segment(doc.rings[0], 0)]), 0);
  assert.ok(wobble([{ a: { x: 0, y: 0 }, b: { x: 30, y: 20 }, c: { x: 60, y: 20 }, d: { x: 90, y: 0 }, curved: true }]) < 1e-6);
  // Ten turns of 90 degrees, half of them back, over eleven parts of 10 mm.
  const zig = Array.from({ length: 11 }, (_, i) => { const p = (k) => ({ x: Math.ceil(k / 2) * 10, y: Math.floor(k / 2) * 10 }); return { a: p(i), b: p(i), c: p(i + 1), d: p(i + 1), curved: false }; });
  assert.ok(Math.abs(wobble(zig) - (900 * 100) / 110) < 1e-6);
});

test("as smooth as: the least way off the line that makes a trembling edge as calm as the rest", () => {
  const knots = [{ at: [0, 0], corner: true }, { at: [200, 0], corner: true }, { at: [200, 150], corner: true },
    ...Array.from({ length: 19 }, (_, i) => ({ at: [190 - i * 10, 150 + (i % 2 ? 1.2 : -1.2)], corner: false })), { at: [0, 150], corner: true }];
  const doc = readPiece({ ...wirePiece(), holes: [], knots }), ends = { ring: 0, from: 3, to: 23 };
  const limit = wobbleOfRest(doc, ends), before = wobble(chain(doc, ends)), mm = letOff(doc, ends, limit);
  assert.ok(limit < 1e-9 && before > 100);
  assert.ok(mm !== null && mm >= 0.5 && mm <= 3, `${mm}`);
  assert.ok(wobble(chain(fair(ends, mm)(doc), ends)) <= 0.5);
});

test("shapes of random outlines are frozen, finite, and undone to the identical object", () => {
  const rand = random(11);
  let changed = 0;
  for (let i = 0; i < 60; i++) {
    const before = randomDoc(rand, 5 + Math.floor(rand() * 6)), ring = before.rings[0], text = JSON.stringify(before);
    const ends = { ring: 0, from: ring[0].id, to: ring[3].id }, dir = rand() * 7;
    const axis = { at: { x: 150, y: 150 }, dir: { x: Math.cos(dir), y: Math.sin(dir) } };
    for (const action of [symmetric(ends, axis, ["mean", "first", "last"][i % 3]), borrowed(ends, twin(chain(before, ends)), i % 2 === 0)]) {
      const after = action(before);
      assert.equal(JSON.stringify(before), text);
      assert.ok(frozen(after) && after.rings.flat().every((k) => [k.at, k.in, k.out].every((p) => !p || Number.isFinite(p.x + p.y))));
      if (after !== before) changed++;
      assert.equal(undo(perform(begin(before, ""), after, "")).present.doc, before);
    }
  }
  assert.ok(changed > 60, `${changed}`);
});
