import assert from "node:assert/strict";
import test from "node:test";
import { cutEdge, cutEdgeAt, edgeBefore, joinEdge } from "../app/actions/cutEdge.js";
import { deleteKnots } from "../app/actions/deleteKnots.js";
import { addMark, changeMark, removeMark, setLabel } from "../app/actions/marks.js";
import { setEdges, setMeans } from "../app/actions/setEdge.js";
import { chainOf, fair, followed, knotsOf, setLength, straighten } from "../app/actions/stretch.js";
import { chainLength, fractionAt, length, pointAt } from "../app/geom/arc.js";
import { at, sample, segment } from "../app/geom/cubic.js";
import { nearestOn } from "../app/geom/nearest.js";
import { distance } from "../app/geom/vec.js";
import { begin, perform, redo, undo } from "../app/history.js";
import { readPiece, writePiece } from "../app/model/codec.js";
import { freshId } from "../app/model/doc.js";
import { spanAt, spanOf, spans } from "../app/model/edges.js";
import { gripsOf, grainOf, newMark, placedAt } from "../app/model/marks.js";
import { nameAll, suggest } from "../app/model/names.js";
import { fromPiece, toPiece } from "../app/model/plan.js";
import { fault } from "../app/model/validate.js";
import { frozen, planned, random, wirePlanned } from "./helpers.mjs";

const second = (name) => `${name} 2`;
const pick = (rand, list) => list[Math.floor(rand() * list.length)];
const knot = (rand, d) => pick(rand, d.rings[0]).id;

test("reading and writing gives the same plan; what is unknown or kept is left out", () => {
  const { edges, marks, label, outline_means } = writePiece(planned()), w = wirePlanned();
  assert.deepEqual({ edges, marks, label, outline_means }, { edges: w.edges, marks: w.marks, label: w.label, outline_means: w.outline_means });
});

test("without a frame the service knows no plan, and none is sent", () => {
  const { plane_to_piece, ...w } = wirePlanned(), sent = writePiece(readPiece(w));
  assert.ok(!("edges" in sent) && !("marks" in sent));
});

test("the way to the piece frame and back gives the same place", () => {
  const frame = { turn: 0.7, move: { x: 3, y: -4 } }, p = { x: 12, y: 5 };
  assert.ok(distance(fromPiece(frame, toPiece(frame, p)), p) < 1e-9);
});

const ACTIONS = {
  setEdges: (rand, d) => setEdges(new Set([pick(rand, d.edges).id]), { name: `edge ${Math.floor(rand() * 9)}` }),
  setFinish: (rand, d) => setEdges(new Set([pick(rand, d.edges).id]), { finish: { kind: "seam", allowance_mm: Math.round(rand() * 20) + 1 } }),
  setMeans: () => setMeans("stitch-line"),
  cutEdge: (rand, d) => cutEdge(knot(rand, d), second),
  cutEdgeAt: (rand, d) => cutEdgeAt(knot(rand, d), 0.1 + 0.8 * rand(), freshId(d), second),
  joinEdge: (rand, d) => joinEdge(pick(rand, d.edges).id),
  addMark: (rand) => addMark({ id: "new", kind: "text", points: [{ x: rand(), y: 1 }], text: "a" }),
  changeMark: (rand) => changeMark("notch-1", { at: rand() }),
  removeMark: () => removeMark("notch-1"),
  setLabel: (rand) => setLabel({ notes: String(rand()) }),
  straighten: (rand, d) => straighten({ ring: 0, from: knot(rand, d), to: knot(rand, d) }),
  fair: (rand, d) => fair({ ring: 0, from: knot(rand, d), to: knot(rand, d) }, 0.2 + rand()),
  setLength: (rand, d) => setLength(knot(rand, d), 10 + rand() * 50),
  deleteKnots: (rand, d) => deleteKnots(new Set([knot(rand, d)])),
};

for (const [name, make] of Object.entries(ACTIONS))
  test(`${name}: frozen result, input untouched, edges and marks in order, undo and redo give the identical objects`, () => {
    const rand = random(11);
    let changed = 0;
    for (let i = 0; i < 60; i++) {
      const before = planned(), text = JSON.stringify(before), after = make(rand, before)(before);
      assert.equal(JSON.stringify(before), text);
      assert.ok(frozen(after));
      if (after === before) continue;
      changed++;
      assert.equal(fault(after), null);
      assert.equal(spans(after).length, after.edges.length);
      assert.equal(spans(after).reduce((n, s) => n + s.count, 0), after.rings[0].length);
      const sent = writePiece(after).edges.map((e) => e.knot);
      assert.deepEqual(sent, [...sent].sort((a, b) => a - b));
      for (const m of after.marks) if (m.edge) assert.ok(spanOf(after, m.edge), `${m.id} hangs on ${m.edge}`);
      const done = perform(begin(before, "open"), after, name);
      assert.equal(undo(done).present.doc, before);
      assert.equal(redo(undo(done)).present.doc, after);
    }
    assert.ok(changed >= 15, `only ${changed} of 60 runs changed the document`);
  });

test("marks keep their places when edges are cut, joined, and lose their first knot", () => {
  const d = planned(), where = (x) => gripsOf(x, x.marks.find((m) => m.id === "notch-1"))[0], here = where(d);
  const cut = cutEdge(d.rings[0][3].id, second)(d);
  assert.equal(cut.edges.length, 4);
  assert.ok(distance(where(cut), here) < 1e-3);
  const joined = joinEdge(cut.edges[3].id)(cut);
  assert.equal(joined.edges.length, 3);
  assert.ok(distance(where(joined), here) < 1e-3);
  const all = joinEdge("edge-3")(d);
  assert.equal(all.marks.find((m) => m.id === "notch-1").edge, "edge-2");
  assert.ok(distance(where(all), here) < 1e-3);
});

test("cutting an edge anywhere does not change the outline's shape", () => {
  const d = planned(), cut = cutEdgeAt(d.rings[0][2].id, 0.4, freshId(d), second)(d);
  assert.equal(cut.edges.length, 4);
  const off = d.rings[0].map((_, i) => segment(d.rings[0], i)).flatMap((s) => sample(s, 20)).map((p) => Math.min(...cut.rings[0].map((_, i) => { const s = segment(cut.rings[0], i); return distance(p, at(s, nearestOn(s, p))); })));
  assert.ok(Math.max(...off) < 1e-2);
});

test("an edge goes before itself only where there is another", () => {
  const d = planned();
  assert.equal(edgeBefore(d, "edge-1").id, "edge-3");
  assert.equal(edgeBefore({ ...d, edges: [d.edges[0]] }, "edge-1"), null);
});

test("arc lengths: a line, a circle's quarter, and places along them", () => {
  const line = { a: { x: 0, y: 0 }, b: { x: 0, y: 0 }, c: { x: 30, y: 40 }, d: { x: 30, y: 40 }, curved: false };
  assert.equal(length(line), 50);
  const k = 100 * 0.5522847498, arc = { a: { x: 100, y: 0 }, b: { x: 100, y: k }, c: { x: k, y: 100 }, d: { x: 0, y: 100 }, curved: true };
  assert.ok(Math.abs(length(arc) - 50 * Math.PI) < 0.05); // the cubic is within 0.03 % of the circle
  const mid = pointAt([arc], 0.5);
  assert.ok(Math.abs(mid.x - mid.y) < 1e-6);
  assert.ok(Math.abs(fractionAt([line, arc], 1, 0.5) - (50 + length(arc) / 2) / chainLength([line, arc])) < 1e-6);
});

test("a straightened stretch is a line between the same ends; edges that begin inside stay", () => {
  const d = planned(), r = d.rings[0], ends = { ring: 0, from: r[1].id, to: r[4].id }, done = straighten(ends)(d);
  const knots = knotsOf(done, ends), chain = chainOf(knots);
  assert.ok(chain.every((s) => !s.curved));
  assert.ok(Math.abs(chainLength(chain) - distance(r[1].at, r[4].at)) < 1e-6);
  assert.deepEqual(done.edges, d.edges);
  assert.equal(knots.length, 3); // the knot of edge-3 stays
});

test("a fair stretch stays within the distance that was asked for, and is smooth", () => {
  const rand = random(5);
  for (let run = 0; run < 20; run++) {
    const n = 14, knots = Array.from({ length: n }, (_, i) => ({ at: [i * 20, 60 * Math.sin(i / 3) + rand() - 0.5], corner: true }));
    const d = readPiece({ ...wirePlanned(), edges: [{ id: "e", name: "e", knot: 0 }], marks: [], knots: [...knots, { at: [260, 300], corner: true }, { at: [0, 300], corner: true }] });
    const ends = { ring: 0, from: d.rings[0][0].id, to: d.rings[0][n - 1].id }, done = fair(ends, 1.5)(d);
    const chain = chainOf(knotsOf(done, ends));
    assert.ok(chain.length < n - 1, `${chain.length} stretches`);
    for (const k of knotsOf(d, ends)) assert.ok(Math.min(...chain.map((s) => distance(k.at, at(s, nearestOn(s, k.at))))) < 1.5 + 1e-6);
    for (const k of knotsOf(done, ends).slice(1, -1)) assert.ok(!k.corner && k.in && k.out);
  }
});

test("a stretch follows another outline between its ends, and only there", () => {
  const d = planned(), r = d.rings[0], ends = { ring: 0, from: r[2].id, to: r[4].id };
  const bent = straighten(ends)(d), back = followed(ends, r)(bent);
  assert.ok(back.rings[0].length >= r.length && r.every((k) => back.rings[0].some((b) => distance(b.at, k.at) < 1e-6)));
  for (const s of chainOf(knotsOf(back, ends)).flatMap((c) => sample(c, 20)))
    assert.ok(Math.min(...chainOf(knotsOf(d, ends)).map((c) => distance(s, at(c, nearestOn(c, s))))) < 5e-3); // the nearest place is found to a few micrometres
  assert.equal(followed(ends, r.map((k) => ({ ...k, at: { x: k.at.x + 500, y: k.at.y }, in: null, out: null })))(bent), bent);
});

test("a typed length moves the far end along the line", () => {
  const d = planned(), done = setLength(d.rings[0][0].id, 123)(d);
  assert.ok(Math.abs(distance(done.rings[0][0].at, done.rings[0][1].at) - 123) < 1e-9);
});

test("a notch is placed on the edge that is nearest; the grain is read from its mark", () => {
  const d = planned(), m = newMark(d, "notch", [{ x: 99, y: 40 }], "");
  assert.equal(m.edge, "edge-2");
  assert.ok(Math.abs(m.at - 0.5) < 1e-3);
  assert.equal(newMark(d, "notch", [{ x: 50, y: -200 }], ""), null);
  assert.ok(Math.abs(grainOf(d) - (90 - (0.3 * 180) / Math.PI + 180) % 180) < 0.01);
  assert.equal(placedAt(d, { x: 50, y: -1 }, 5).edge, "edge-1");
  assert.equal(spanAt(d, d.rings[0][4].id).edge.id, "edge-3");
});

test("names are guessed from the shape: a hollow may be a neck, a long line along the grain a side seam", () => {
  const d = readPiece({
    ...wirePlanned(), plane_to_piece: { turn: 0, move: [0, 0] }, marks: [{ id: "g", kind: "grain", deg: 90 }],
    knots: [{ at: [0, 0], corner: true }, { at: [300, 0], corner: true }, { at: [300, 500], out: [250, 380], corner: true }, { at: [0, 500], in: [50, 380], corner: true }],
    edges: [{ id: "a", name: "a", knot: 0 }, { id: "b", name: "b", knot: 1 }, { id: "c", name: "c", knot: 2 }, { id: "d", name: "d", knot: 3 }],
  });
  const bare = { ...d, edges: d.edges.map((e, i) => ({ ...e, name: ["bottom", "right", "top", "left"][i] })) };
  assert.deepEqual([...nameAll(bare, (k) => k)], [["a", "hem"], ["b", "side right"], ["c", "neck"], ["d", "side left"]]);
  assert.equal(nameAll(d, (k) => k).size, 0); // names that a person gave stay
  assert.equal(suggest(d, "a")[0], "hem");
  assert.equal(suggest(d, "b")[0], "side");
  assert.equal(suggest(d, "c")[0], "neck");
});
