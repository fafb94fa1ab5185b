// The tools, tied to the editor's state. Exactly one is in hand.

import { addStroke } from "../actions/addStroke.js";
import { pan, toPlane, zoom } from "../geom/viewport.js";
import { idle, reduce } from "../gestures/pointer.js";
import * as ed from "../state/editor.js";
import { retrace } from "../state/session.js";
import { texts } from "../texts.js";
import { addTool } from "./add.js";
import { brushTool } from "./brush.js";
import { hit } from "./hit.js";
import { moveTool } from "./move.js";

/** @import {Doc, Gesture, StrokeKind} from "../types" */
/** @import {Bench, Tool} from "./bench" */
/** @import {Input} from "../gestures/pointer.js" */

/** @type {Bench} */
const bench = {
  doc: () => /** @type {Doc} */ (ed.doc.value),
  selection: () => ed.selection.value,
  select: ed.select,
  hit: (at, pointer) => hit(ed.rings.value, ed.selected.value, ed.viewport.value, at, pointer),
  toPlane: (at) => toPlane(ed.viewport.value, at),
  pan: (dx, dy) => { ed.viewport.value = pan(ed.viewport.value, dx, dy); },
  perform: ed.perform,
  drag: ed.drag,
  endDrag: () => { ed.loupe.value = null; ed.endDrag(); },
  cancelDrag: () => { ed.loupe.value = null; ed.cancelDrag(); },
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

/** @type {Record<"move" | "add" | StrokeKind, Tool>} */
const tools = { move: moveTool(bench), add: addTool(bench), cloth: brushTool("cloth")(bench), "not-cloth": brushTool("not-cloth")(bench) };

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

/** @param {"move" | "add" | StrokeKind} name */
export function take(name) {
  tools[ed.toolName.value].cancel();
  ed.toolName.value = name;
}

/** Gives up what the tool in hand has begun; false when it had begun nothing. */
export function drop() {
  const busy = ed.dragging.value || ed.wet.value !== null;
  tools[ed.toolName.value].cancel();
  state = idle;
  return busy;
}
