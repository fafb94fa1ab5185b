import assert from "node:assert/strict";
import test from "node:test";
import { toPixel, toPlane } from "../app/geom/viewport.js";
import { find } from "../app/model/doc.js";
import { begin, perform, replace } from "../app/history.js";
import { addTool } from "../app/tools/add.js";
import { brushTool } from "../app/tools/brush.js";
import { hit } from "../app/tools/hit.js";
import { moveTool } from "../app/tools/move.js";
import { doc } from "./helpers.mjs";

const VIEW = { scale: 2, left: -50, top: 200, width: 400, height: 500 };

/** A bench without signals, with the same rules for drags as the editor's. */
function bench() {
  let h = begin(doc(), "open"), ids = new Set(), base = null;
  const b = {
    strokes: [], panned: 0,
    history: () => h,
    doc: () => h.present.doc,
    selection: () => ids,
    select: (x) => (ids = new Set(x)),
    hit: (at, pointer) => hit(b.doc().rings, [...ids].map((id) => find(b.doc(), id).knot), VIEW, at, pointer),
    toPlane: (at) => toPlane(VIEW, at),
    magnet: () => (p) => p, unmagnet() {},
    pan: () => b.panned++,
    perform: (a, l) => (h = perform(h, a(h.present.doc), l)),
    drag(a, l) {
      base ??= h;
      h = h === base ? perform(h, a(base.present.doc), l) : replace(h, a(base.present.doc));
    },
    endDrag: () => (base = null),
    cancelDrag() {
      if (base) h = base;
      base = null;
    },
    loupe() {}, ghost() {}, brushAt() {}, wet() {},
    brushWidth: () => 10,
    stroke: (s) => b.strokes.push(s),
  };
  return b;
}

const px = (x, y) => toPixel(VIEW, { x, y });
function drag(tool, from, to, pointer = "mouse") {
  const g = { from, pointer, extend: false };
  tool.gesture({ type: "dragstart", at: from, ...g });
  for (let i = 1; i <= 5; i++) tool.gesture({ type: "drag", at: { x: from.x + ((to.x - from.x) * i) / 5, y: from.y + ((to.y - from.y) * i) / 5 }, ...g });
  tool.gesture({ type: "dragend", at: to, ...g });
}

test("dragging a point moves it by the way of the pointer, in one step", () => {
  const b = bench(), tool = moveTool(b), was = b.doc();
  drag(tool, px(101, 1), px(121, 31));
  assert.deepEqual(find(b.doc(), 2).knot.at, { x: 120, y: 30 });
  assert.equal(b.history().past.length, 1);
  assert.equal(b.history().past[0].doc, was);
  assert.deepEqual([...b.selection()], [2]);
});

test("a drag where nothing is pans; a cancelled drag leaves no trace", () => {
  const b = bench(), tool = moveTool(b), was = b.history();
  drag(tool, px(150, 150), px(170, 160));
  assert.ok(b.panned > 0);
  assert.equal(b.history(), was);
  const g = { from: px(100, 0), pointer: "touch", extend: false };
  tool.gesture({ type: "dragstart", at: g.from, ...g });
  tool.gesture({ type: "drag", at: px(120, 0), ...g });
  assert.notEqual(b.history(), was);
  tool.cancel();
  assert.equal(b.history(), was);
});

test("a finger reaches farther than a mouse", () => {
  const at = { x: px(100, 0).x + 18, y: px(100, 0).y };
  assert.equal(bench().hit(at, "touch").kind, "knot");
  assert.equal(bench().hit(at, "mouse").kind, "none");
});

test("handles can be held only while their point is selected", () => {
  const b = bench();
  assert.notEqual(b.hit(px(70, 120), "mouse").kind, "handle");
  b.select([4]);
  assert.deepEqual(b.hit(px(70, 120), "mouse"), { kind: "handle", id: 4, side: "in" });
  drag(moveTool(b), px(70, 120), px(70, 140));
  assert.equal(find(b.doc(), 4).knot.in.y, 140);
});

test("a tap on the outline adds a point there, a double tap too, and each is selected", () => {
  for (const [make, type] of [[addTool, "tap"], [moveTool, "double"]]) {
    const b = bench();
    make(b).gesture({ type, at: px(50, 1), pointer: "mouse", extend: false });
    assert.equal(b.doc().rings[0].length, 6);
    const [id] = b.selection();
    assert.deepEqual(find(b.doc(), id).knot.at, { x: 50, y: 0 });
  }
});

test("a stroke is handed over once, in millimetres, thinned to the brush's width", () => {
  const b = bench();
  drag(brushTool("not-cloth")(b), px(0, 0), px(0.5, 0));
  drag(brushTool("cloth")(b), px(0, 0), px(100, 0));
  assert.deepEqual(b.strokes.map((s) => [s.kind, s.width, s.points.length]), [["not-cloth", 10, 1], ["cloth", 10, 6]]);
  assert.deepEqual(b.strokes[1].points.at(-1), { x: 100, y: 0 });
});
