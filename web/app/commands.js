// Everything that can be done by a key or a button in the editor, in one table.

import { clearStrokes } from "./actions/clearStrokes.js";
import { deleteKnots, disabled as cannotDelete } from "./actions/deleteKnots.js";
import { moveKnots } from "./actions/moveKnots.js";
import { setCorner } from "./actions/setCorner.js";
import { setSegment } from "./actions/setSegment.js";
import { between } from "./geom/cubic.js";
import { bounds } from "./geom/ring.js";
import { fit, pan, toPixel, zoom } from "./geom/viewport.js";
import { helpOpen, hush, say } from "./state/app.js";
import * as ed from "./state/editor.js";
import { cancelRetrace } from "./state/session.js";
import { texts } from "./texts.js";
import { drop, take } from "./tools/index.js";

/** @import {Bounds, Plane, Point} from "./types" */

const T = texts.editor, L = T.labels;

/**
 * @typedef {object} Command
 * @property {() => string} label
 * @property {() => boolean} [available] whether it makes sense now
 * @property {() => string | null} [disabled] why it can't be done now
 * @property {() => void} run
 */

/** Below this width the buttons stand in a row under the piece, and take this height; pixels. */
const NARROW = 821, BUTTONS = 56;

/** @param {number} factor */
function zoomBy(factor) {
  const v = ed.viewport.value;
  ed.viewport.value = zoom(v, { x: v.width / 2, y: v.height / 2 }, factor);
}

/** Where the straightened photo lies. @param {Plane} p @returns {Bounds} */
const extent = (p) => ({ minX: p.origin_mm[0], maxX: p.origin_mm[0] + p.width / p.px_per_mm, minY: p.origin_mm[1] - p.height / p.px_per_mm, maxY: p.origin_mm[1] });

/** Shows the whole piece, or all of the photo where there is none. */
export function fitAll() {
  const v = ed.viewport.value;
  const plane = ed.photo.value?.plane, box = ed.rings.value.length > 0 ? bounds(ed.rings.value) : plane ? extent(plane) : null;
  if (box) ed.viewport.value = fit(v, box, v.width < NARROW ? 24 : 56, v.width < NARROW ? BUTTONS : 0);
}

/** Shows some points with some cloth around them. @param {readonly Point[]} points */
export function showPoints(points) {
  const xs = points.map((p) => p.x), ys = points.map((p) => p.y);
  const box = { minX: Math.min(...xs) - 15, maxX: Math.max(...xs) + 15, minY: Math.min(...ys) - 15, maxY: Math.max(...ys) + 15 };
  ed.viewport.value = fit(ed.viewport.value, box, 40);
}

/** Selects the point a step along the outline from the selected one. @param {1 | -1} way */
function stepAlong(way) {
  const place = ed.single.value, ring = ed.rings.value[place?.ring ?? 0];
  if (!ring) return;
  const i = place ? place.index + way : way > 0 ? 0 : -1;
  const knot = /** @type {typeof ring[number]} */ (ring.at(i % ring.length));
  ed.select([knot.id]);
  const v = ed.viewport.value, q = toPixel(v, knot.at), edge = 40;
  if (q.x < edge || q.y < edge || q.x > v.width - edge || q.y > v.height - edge)
    ed.viewport.value = pan(v, v.width / 2 - q.x, v.height / 2 - q.y);
}

/** Moves the selected points by millimetres, or the view where none is selected. @param {number} x @param {number} y @param {number} mm */
export function nudge(x, y, mm) {
  if (ed.selection.value.size > 0) ed.perform(moveKnots(ed.selection.value, { x: x * mm, y: y * mm }), L.nudge);
  else ed.viewport.value = pan(ed.viewport.value, -x * 60, y * 60);
}

const one = () => ed.single.value;
const curved = () => { const p = one(); return p ? between(p.knot, p.after).curved : false; };

/** @type {Record<string, Command>} */
export const commands = {
  undo: { label: () => T.undo, disabled: () => (ed.history.value?.past.length ? null : ""), run: () => { drop(); ed.undo(); } },
  redo: { label: () => T.redo, disabled: () => (ed.history.value?.future.length ? null : ""), run: () => { drop(); ed.redo(); } },
  zoomIn: { label: () => T.zoomIn, run: () => zoomBy(1.5) },
  zoomOut: { label: () => T.zoomOut, run: () => zoomBy(1 / 1.5) },
  fit: { label: () => T.fit, run: fitAll },
  next: { label: () => T.next, run: () => stepAlong(1) },
  prev: { label: () => T.prev, run: () => stepAlong(-1) },
  deleteKnots: {
    label: () => T.deletePoint,
    available: () => ed.selection.value.size > 0,
    disabled: () => (ed.doc.value && cannotDelete(ed.doc.value, ed.selection.value) ? T.tooFew : null),
    run: () => ed.perform(deleteKnots(ed.selection.value), L.remove),
  },
  corner: {
    label: () => (one()?.knot.corner ? T.makeSmooth : T.makeCorner),
    available: () => one() !== null,
    run: () => { const k = one()?.knot; if (k) ed.perform(setCorner(k.id, !k.corner), k.corner ? L.smooth : L.corner); },
  },
  segment: {
    label: () => (curved() ? T.toLine : T.toCurve),
    available: () => one() !== null,
    run: () => { const k = one()?.knot, c = curved(); if (k) ed.perform(setSegment(k.id, !c), c ? L.line : L.curve); },
  },
  clearStrokes: { label: () => T.clearStrokes, available: () => (ed.doc.value?.strokes.length ?? 0) > 0, run: () => ed.perform(clearStrokes(), L.clear) },
  escape: {
    label: () => texts.cancel,
    run: () => {
      if (drop()) return;
      if (ed.piece.value && ed.retracing.value) cancelRetrace();
      else if (ed.piece.value && ed.toolName.value !== "move") take("move");
      else { ed.select([]); hush(); }
    },
  },
  help: { label: () => texts.help.open, run: () => { helpOpen.value = true; } },
};

/** Runs a command if it can be run now, else says why not. @param {string} id */
export function run(id) {
  const c = commands[id];
  if (c.available && !c.available()) return;
  const why = c.disabled?.() ?? null;
  if (why === null) c.run();
  else if (why) say(why);
}

/** @type {Record<string, [number, number]>} */
const ARROWS = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1] };
/** @type {Record<string, string>} */
const PLAIN = { Delete: "deleteKnots", Backspace: "deleteKnots", "+": "zoomIn", "=": "zoomIn", "-": "zoomOut", 0: "fit", n: "next", b: "prev", Escape: "escape" };

/**
 * What a key does in the editor; true when it did something.
 * @param {{ key: string, ctrlKey: boolean, metaKey: boolean, shiftKey: boolean, altKey: boolean }} e
 * @param {boolean} onCanvas whether the photo has the focus: only there keys without Ctrl or Cmd count, but for Esc
 */
export function key(e, onCanvas) {
  if (e.ctrlKey || e.metaKey) {
    if (e.key.toLowerCase() !== "z") return false;
    run(e.shiftKey ? "redo" : "undo");
    return true;
  }
  if (!onCanvas && e.key !== "Escape") return false;
  const arrow = ARROWS[e.key];
  if (arrow) nudge(arrow[0], arrow[1], e.shiftKey ? 10 : e.altKey ? 0.1 : 1);
  const id = PLAIN[e.key.length === 1 ? e.key.toLowerCase() : e.key];
  if (id) run(id);
  return Boolean(arrow || id);
}
