import assert from "node:assert/strict";
import test from "node:test";
import { lengthen, shared } from "../app/actions/lengthen.js";
import { chainLength } from "../app/geom/arc.js";
import { distance } from "../app/geom/vec.js";
import { begin, perform, redo, undo } from "../app/history.js";
import { readPiece } from "../app/model/codec.js";
import { spanOf } from "../app/model/edges.js";
import { frozen, planned, wirePlanned } from "./helpers.mjs";
import { walked } from "../app/model/walk.js";

const long = (doc, id) => chainLength(spanOf(doc, id).chain);

for (const id of ["edge-1", "edge-2", "edge-3"])
  for (const moves of ["start", "end"])
    test(`${id} gives way at its ${moves}: its length to a hundredth, the other end where it was`, () => {
      const before = planned();
      for (const mm of [3.1, -3.1]) {
        const after = lengthen(id, mm, moves)(before), s = spanOf(after, id), was = spanOf(before, id);
        assert.ok(Math.abs(long(after, id) - long(before, id) - mm) < 0.01);
        const [stays, stayed] = moves === "end" ? [s.chain[0].a, was.chain[0].a] : [s.chain.at(-1).d, was.chain.at(-1).d];
        assert.ok(distance(stays, stayed) < 1e-9);
        assert.ok(frozen(after));
        assert.deepEqual(after.rings[0].map((k) => [k.id, k.corner]), before.rings[0].map((k) => [k.id, k.corner]));
        assert.equal(after.marks, before.marks);
        const done = perform(begin(before, ""), after, "");
        assert.equal(undo(done).present.doc, before);
        assert.equal(redo(undo(done)).present.doc, after);
      }
    });

test("an edge that is gone, all round, or can't become that long leaves the document as it is", () => {
  const before = planned();
  assert.equal(lengthen("nowhere", 3, "end")(before), before);
  assert.equal(lengthen("edge-1", 0, "end")(before), before);
  assert.equal(lengthen("edge-1", -99, "end")(before), before);
  const round = readPiece({ ...wirePlanned(), edges: [{ id: "all", name: "all round", knot: 0 }] });
  assert.equal(lengthen("all", 3, "end")(round), round);
});

const pair = { id: "s", name: "side", a: [{ piece: "p", edge: "edge-2" }], b: [{ piece: "q", edge: "edge-1", reverse: true }, { piece: "q", edge: "edge-2", reverse: true }] };

for (const who of ["both", "a", "b"])
  test(`a seam agrees when ${who} give way`, () => {
    const docs = new Map([["p", planned()], ["q", planned()]]);
    const sides = (m) => [long(m.get("p"), "edge-2"), long(m.get("q"), "edge-1") + long(m.get("q"), "edge-2")];
    const [a, b] = sides(docs), off = 3.1, changes = shared(pair, off, who, docs);
    assert.deepEqual(changes.map((c) => c.piece), { both: ["p", "q"], a: ["p"], b: ["q"] }[who]);
    const after = new Map(docs);
    for (const c of changes) { assert.equal(c.from, docs.get(c.piece)); after.set(c.piece, c.to); }
    const [a2, b2] = sides(after);
    assert.ok(Math.abs(a - a2 + (b2 - b) - off) < 0.15, `${a - a2} and ${b2 - b}`);
    if (who === "both") assert.ok(Math.abs(a - a2 - off / 2) < 0.1);
  });

test("an end on a fold stays on it: the other one moves", () => {
  const w = wirePlanned();
  const doc = readPiece({ ...w, edges: w.edges.map((e) => (e.id === "edge-2" ? { ...e, finish: { kind: "fold" } } : e)) });
  const [change] = shared({ ...pair, a: [{ piece: "p", edge: "edge-1" }] }, 4, "a", new Map([["p", doc]]));
  const s = spanOf(change.to, "edge-1"), was = spanOf(doc, "edge-1");
  assert.ok(distance(s.chain.at(-1).d, was.chain.at(-1).d) < 1e-9 && distance(s.chain[0].a, was.chain[0].a) > 3.9);
});

test("edges of a side follow each other, and what the other side lacks is at the end", () => {
  const docs = { p: planned(), q: planned() }, w = walked(pair, (r) => spanOf(docs[r.piece], r.edge).chain);
  const q1 = w.get("q edge-1"), q2 = w.get("q edge-2"), p = w.get("p edge-2");
  assert.equal(q1.from, 0);
  assert.ok(Math.abs(q2.from - long(docs.q, "edge-1")) < 1e-9 && p.over === 0);
  assert.ok(Math.abs(q1.over + q2.over - (long(docs.q, "edge-1") + long(docs.q, "edge-2") - long(docs.p, "edge-2"))) < 1e-9);
});
