// The tools, tied to the editor's state. Exactly one is in hand.

import { addStroke } from "../actions/addStroke.js";
import { nearest } from "../geom/nearest.js";
import { pan, toPixel, toPlane, zoom } from "../geom/viewport.js";
import { idle, reduce } from "../gestures/pointer.js";
import { find } from "../model/doc.js";
import { spanAt } from "../model/edges.js";
import { say } from "../state/app.js";
import * as ed from "../state/editor.js";
import { retrace } from "../state/session.js";
import { change, picked } from "../state/shaping.js";
import { texts } from "../texts.js";
import { addTool } from "./add.js";
import { brushTool } from "./brush.js";
import { axisTool, edgeTool, stretchTool } from "./choose.js";
import { hit, reach } from "./hit.js";
import { lookTool } from "./look.js";
import { markTool, placeTool } from "./marks.js";
import { magnet } from "./magnet.js";
import { moveTool } from "./move.js";
import { tapeTool } from "./tape.js";

/** @import {Doc, Gesture, Pixel, Place, Snap, ToolName} from "../types" */
/** @import {Bench, Tool} from "./bench" */
/** @import {Input} from "../gestures/pointer.js" */

/** @param {Pixel} at @param {string} pointer @returns {Place | null} */
const onOutline = (at, pointer) => nearest(ed.rings.value.slice(0, 1), toPlane(ed.viewport.value, at), reach(pointer) / ed.viewport.value.scale);

/** @param {Pixel} at @param {string} pointer @returns {Snap} */
function snap(at, pointer) {
  const h = hit(ed.rings.value, [], ed.viewport.value, at, pointer);
  const knot = h.kind === "knot" && ed.doc.value ? find(ed.doc.value, h.id) : null;
  if (knot) return { at: knot.knot.at, to: "point", place: { ring: knot.ring, id: knot.knot.id, t: 0, at: knot.knot.at, distance: 0 } };
  if (h.kind === "segment") return { at: h.place.at, to: "edge", place: h.place };
  return { at: toPlane(ed.viewport.value, at), to: "", place: null };
}

/** Chooses the edge at a place; a place near a point of the outline is that point. @param {Place | null} place */
function chooseEdge(place) {
  const doc = ed.doc.value, span = place && doc ? spanAt(doc, place.id) : null;
  ed.edgeId.value = span?.edge.id ?? null;
  ed.spot.value = span && place && doc ? onKnot(doc, place) : null;
}

/** @param {Doc} doc @param {Place} p @returns {Place} */
function onKnot(doc, p) {
  const near = 12 / ed.viewport.value.scale, k = find(doc, p.id);
  for (const knot of k ? [k.knot, k.after] : [])
    if (Math.hypot(knot.at.x - p.at.x, knot.at.y - p.at.y) < near) return { ...p, id: knot.id, t: 0, at: knot.at };
  return p;
}

/** Chooses one end of a stretch after the other, the shorter way round. @param {{ ring: number, id: number } | null} end */
function chooseStretch(end) {
  const now = ed.stretch.value;
  if (!end) return void (ed.stretch.value = null);
  if (!now || now.to !== null || now.ring !== end.ring || now.from === end.id) return void (ed.stretch.value = { ring: end.ring, from: end.id, to: null });
  const ring = ed.rings.value[end.ring], i = ring.findIndex((k) => k.id === now.from), j = ring.findIndex((k) => k.id === end.id);
  const ahead = (j - i + ring.length) % ring.length;
  ed.stretch.value = ahead * 2 <= ring.length ? { ring: end.ring, from: now.from, to: end.id } : { ring: end.ring, from: end.id, to: now.from };
}

/** @type {Bench} */
const bench = {
  doc: () => /** @type {Doc} */ (ed.doc.value),
  selection: () => ed.selection.value,
  select: ed.select,
  hit: (at, pointer) => hit(ed.rings.value, ed.selected.value, ed.viewport.value, at, pointer),
  toPlane: (at) => toPlane(ed.viewport.value, at),
  toPixel: (at) => toPixel(ed.viewport.value, at),
  onOutline, snap, chooseEdge, say,
  chooseMark: (id) => { ed.markId.value = id; },
  stretch: chooseStretch,
  axis(p) {
    picked.value = [...picked.value, p].slice(-2);
    if (picked.value.length < 2) return;
    take("stretch");
    change({ of: "picked" });
  },
  tape: (ends) => { ed.tape.value = ends; },
  tapeEnds: () => (ed.angle.value ? 3 : 2),
  placing: () => ed.placing.value,
  setPlacing: (p) => { ed.placing.value = p; },
  placed: (id) => {
    take("mark");
    ed.markId.value = id;
  },
  pan: (dx, dy) => { ed.viewport.value = pan(ed.viewport.value, dx, dy); },
  perform: ed.perform,
  drag: ed.drag,
  magnet,
  unmagnet: () => { ed.agrees.value = null; },
  endDrag: () => { ed.loupe.value = ed.agrees.value = null; ed.endDrag(); },
  cancelDrag: () => { ed.loupe.value = ed.agrees.value = null; ed.cancelDrag(); },
  loupe: (at) => { ed.loupe.value = at; },
  ghost: (at) => { ed.ghost.value = at; },
  brushWidth: () => ed.brushWidth.value,
  brushAt: (at) => { ed.brushAt.value = at; },
  wet: (s) => { ed.wet.value = s; },
  stroke: (s) => {
    ed.perform(addStroke(s), texts.editor.labels.stroke);
    void retrace();
  },
};

/** @type {Record<ToolName, Tool>} */
const tools = {
  look: lookTool(bench), move: moveTool(bench), add: addTool(bench), cloth: brushTool("cloth")(bench), "not-cloth": brushTool("not-cloth")(bench),
  stretch: stretchTool(bench), measure: tapeTool(bench), edge: edgeTool(bench), axis: axisTool(bench), mark: markTool(bench), place: placeTool(bench),
};

let state = idle;

/** @param {Input} input */
export function feed(input) {
  if (!ed.doc.value) return;
  const [next, gestures] = reduce(state, input);
  state = next;
  gestures.forEach(act);
}

/** @param {Gesture} g */
function act(g) {
  if (g.type === "pan") bench.pan(g.dx, g.dy);
  else if (g.type === "pinch") ed.viewport.value = pan(zoom(ed.viewport.value, { x: g.at.x - g.dx, y: g.at.y - g.dy }, g.factor), g.dx, g.dy);
  else if (g.type === "dragcancel") tools[ed.toolName.value].cancel();
  else tools[ed.toolName.value].gesture(g);
}

/** @param {ToolName} name */
export function take(name) {
  tools[ed.toolName.value].cancel();
  ed.toolName.value = name;
  if (name !== "stretch" && name !== "axis") ed.stretch.value = null;
  if (name !== "measure") ed.tape.value = [];
}

/** What a tap would do there: for those who point with keys. @param {Pixel} at */
export const touch = (at) => tools[ed.toolName.value].gesture({ type: "tap", at, pointer: "mouse", extend: false });

/** Gives up what the tool in hand has begun; false when it had begun nothing. */
export function drop() {
  const busy = ed.dragging.value || ed.wet.value !== null;
  tools[ed.toolName.value].cancel();
  state = idle;
  return busy;
}
