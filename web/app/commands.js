// Everything that can be done by a key or a button in the editor, in one table.

import { clearStrokes } from "./actions/clearStrokes.js";
import { deleteKnots, disabled as cannotDelete } from "./actions/deleteKnots.js";
import { moveKnots } from "./actions/moveKnots.js";
import { setCorner } from "./actions/setCorner.js";
import { setEdges } from "./actions/setEdge.js";
import { setSegment } from "./actions/setSegment.js";
import { cutEdge, cutEdgeAt, edgeBefore, joinEdge } from "./actions/cutEdge.js";
import { changeMark, removeMark } from "./actions/marks.js";
import { fair, followed, straighten } from "./actions/stretch.js";
import { chainLength } from "./geom/arc.js";
import { between } from "./geom/cubic.js";
import { bounds } from "./geom/ring.js";
import { fit, pan, resize, toPixel, zoom } from "./geom/viewport.js";
import { freshId } from "./model/doc.js";
import { spanOf, spans } from "./model/edges.js";
import { STEPS, go, helpOpen, hush, paletteOpen, say, step, stepURL, unit } from "./state/app.js";
import * as board from "./state/board.js";
import * as ed from "./state/editor.js";
import { draft } from "./state/draft.js";
import { cancelRetrace, saveNow, seenOf, tracedRings } from "./state/session.js";
import { cannotSmooth, dropSmoothing, release, slide, smoothness } from "./state/smoothness.js";
import { begin, shaping } from "./state/shaping.js";
import { texts } from "./texts.js";
import { drop, take, touch } from "./tools/index.js";

/** @import {Bounds, Plane, Point, ToolName} from "./types" */

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
/** A canvas as low as this belongs to a phone on its side: the buttons stand beside the piece. */
const LOW = 280;

/** @param {number} factor */
function zoomBy(factor) {
  const v = ed.viewport.value;
  ed.viewport.value = zoom(v, { x: v.width / 2, y: v.height / 2 }, factor);
}

/** Where the straightened photo lies. @param {Plane} p @returns {Bounds} */
const extent = (p) => ({ minX: p.origin_mm[0], maxX: p.origin_mm[0] + p.width / p.px_per_mm, minY: p.origin_mm[1] - p.height / p.px_per_mm, maxY: p.origin_mm[1] });

/** With the new cut line, where that is shown. @param {Bounds} b @returns {Bounds} */
function around(b) {
  const d = step.value === "photo" || step.value === "outline" ? null : draft.value?.box;
  return d ? { minX: Math.min(b.minX, d.minX), minY: Math.min(b.minY, d.minY), maxX: Math.max(b.maxX, d.maxX), maxY: Math.max(b.maxY, d.maxY) } : b;
}

/** The view that shows the whole, until the person looks elsewhere. @type {object | null} */
let whole = null;

/** Whether the whole piece is shown as it was last fitted: nobody has zoomed or moved since. */
export const showsWhole = () => whole === ed.viewport.value;

/** By how much a canvas may change before it is worth fitting anew, in pixels. */
const LITTLE = 64;

/** Gives the view another size: a whole piece stays whole, else the middle stays. @param {number} width @param {number} height */
export function resizeView(width, height) {
  const v = ed.viewport.value, was = showsWhole() || v.width === 0, little = Math.abs(v.width - width) + Math.abs(v.height - height) < LITTLE;
  ed.viewport.value = resize(v, width, height);
  if (!was) return;
  // A line more of words moves nothing, and what is being dragged stays under the finger.
  if (little || ed.dragging.value || ed.wet.value) whole = ed.viewport.value;
  else fitAll();
}

/** Shows the whole piece, or all of the photo where there is none. */
export function fitAll() {
  const v = ed.viewport.value;
  const plane = ed.photo.value?.plane, box = ed.rings.value.length > 0 ? around(bounds(ed.rings.value)) : plane ? extent(plane) : null;
  if (box) whole = ed.viewport.value = fit(v, box, v.height < LOW ? 10 : v.width < NARROW ? 24 : 56, v.width < NARROW && v.height >= LOW ? BUTTONS : 0);
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
  if (step.value === "outline" && ed.selection.value.size > 0) ed.perform(moveKnots(ed.selection.value, { x: x * mm, y: y * mm }), L.nudge);
  else ed.viewport.value = pan(ed.viewport.value, -x * 60, y * 60);
}

/** Moves the chosen mark by millimetres; a notch goes along its edge. @param {number} x @param {number} y @param {number} mm */
function nudgeMark(x, y, mm) {
  const m = ed.mark.value, span = m?.edge && ed.doc.value ? spanOf(ed.doc.value, m.edge) : null;
  if (!m) return;
  if (m.points) ed.perform(changeMark(m.id, { points: m.points.map((p) => ({ x: p.x + x * mm, y: p.y + y * mm })) }), L.moveMark);
  else if (m.kind === "notch" && span) ed.perform(changeMark(m.id, { at: Math.min(1, Math.max(0, (m.at ?? 0) + ((x + y) * mm) / chainLength(span.chain))) }), L.moveMark);
}

const one = () => ed.still.value;
const curved = () => { const p = one(); return p ? between(p.knot, p.after).curved : false; };

/** The tools of the steps; the first one is in hand when one comes there. @type {Record<import("./state/app.js").Step, readonly ToolName[]>} */
const TOOLS_OF = {
  photo: ["look", "cloth", "not-cloth", "measure"], outline: ["move", "add", "stretch", "measure"],
  edges: ["edge", "measure"], marks: ["mark", "measure", "place"], check: ["look"], print: ["look"],
};
const TOOLS = /** @type {const} */ (["look", "cloth", "not-cloth", "move", "add", "stretch", "measure"]);

/** @param {import("./state/app.js").Step} s */
export const toolsOf = (s) => (s === "photo" && !ed.photo.value?.plane ? TOOLS_OF.print : TOOLS_OF[s]);
/** @param {import("./state/app.js").Step} s */
export const firstTool = (s) => TOOLS_OF[s][0];

const ends = () => ed.ends.value;

/** Takes the selected point as the tool's next one. */
function takePoint() {
  const p = ed.single.value;
  if (p) touch(toPixel(ed.viewport.value, p.knot.at));
}

/** Puts back what the photo shows of the chosen stretch. */
function followPhoto() {
  const e = ends(), doc = ed.doc.value, ring = doc && e ? tracedRings(doc)?.[e.ring] : null;
  const next = doc && e && ring ? followed(e, ring)(doc) : doc;
  if (!doc || next === doc) say(texts.stretch.photoNot);
  else ed.perform(() => /** @type {import("./types").Doc} */ (next), L.followed);
}

const before = () => (step.value === "edges" && ed.doc.value && ed.edgeId.value ? edgeBefore(ed.doc.value, ed.edgeId.value) : null);

/** Where the chosen edge can be cut in two: where the person pointed, unless it begins there. */
function cuttable() {
  const p = ed.spot.value, e = ed.edge.value;
  return p && e && step.value === "edges" && !(p.t === 0 && ed.doc.value?.edges?.some((x) => x.knot === p.id)) ? p : null;
}

function cutHere() {
  const p = cuttable(), doc = ed.doc.value;
  if (!p || !doc) return;
  ed.perform(p.t === 0 ? cutEdge(p.id, texts.edges.second) : cutEdgeAt(p.id, p.t, freshId(doc), texts.edges.second), L.cutEdge);
  ed.spot.value = null;
}

/** Chooses the edge before or after the chosen one. @param {number} by */
function alongEdges(by) {
  const all = ed.doc.value ? spans(ed.doc.value) : [];
  if (all.length === 0) return;
  const i = all.findIndex((s) => s.edge.id === ed.edgeId.value);
  ed.edgeId.value = all[(i + (i < 0 && by < 0 ? 0 : by) + all.length) % all.length].edge.id;
  ed.spot.value = null;
}

const sees = () => (step.value === "photo" || step.value === "outline") && ed.settled.value !== null && seenOf(ed.settled.value) !== null;

const slides = () => step.value === "outline" && ed.doc.value !== null && cannotSmooth(ed.doc.value) === null;

/** @param {number} by */
function slideBy(by) {
  void slide(Math.round(10 * Math.min(1, Math.max(-1, smoothness.value + by))) / 10);
  release();
}

/** Whether the step shows the photo, to look closer at. */
const onPhoto = () => step.value !== "check" && step.value !== "print";

const alongPoints = () => ed.piece.value !== null && (step.value === "outline" || ed.toolName.value === "measure");

/** Tools that ask for points, which the keys can give as well. */
const POINTED = new Set(["stretch", "measure", "axis"]);

/** @type {Record<string, Command>} */
export const commands = {
  undo: {
    label: () => T.undo, disabled: () => (step.value === "check" ? board.undoable.value : ed.undoable.value) !== null ? null : "",
    run: () => { if (step.value === "check") board.undo(); else { drop(); dropSmoothing(); ed.undo(); } },
  },
  redo: {
    label: () => T.redo, disabled: () => (step.value === "check" ? board.redoable.value : ed.redoable.value) !== null ? null : "",
    run: () => { if (step.value === "check") board.redo(); else { drop(); dropSmoothing(); ed.redo(); } },
  },
  zoomIn: { label: () => T.zoomIn, available: onPhoto, run: () => zoomBy(1.5) },
  zoomOut: { label: () => T.zoomOut, available: onPhoto, run: () => zoomBy(1 / 1.5) },
  fit: { label: () => T.fit, available: onPhoto, run: fitAll },
  next: { label: () => T.next, available: alongPoints, run: () => stepAlong(1) },
  prev: { label: () => T.prev, available: alongPoints, run: () => stepAlong(-1) },
  deleteKnots: {
    label: () => T.deletePoint,
    available: () => step.value === "outline" && ed.selection.value.size > 0,
    disabled: () => (ed.settled.value && cannotDelete(ed.settled.value, ed.selection.value) ? T.tooFew : null),
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
      if (shaping.value) return void (shaping.value = null);
      if (ed.piece.value && ed.retracing.value) cancelRetrace();
      else if (ed.piece.value && ed.toolName.value !== firstTool(step.value)) take(firstTool(step.value));
      else {
        ed.select([]);
        [ed.edgeId.value, ed.spot.value, ed.markId.value] = [null, null, null];
        hush();
      }
    },
  },
  stretchLine: { label: () => texts.stretch.line, available: () => ends() !== null, run: () => { const e = ends(); if (e) ed.perform(straighten(e), L.straighten); } },
  stretchFair: { label: () => texts.stretch.fair, available: () => ends() !== null, run: () => { const e = ends(); if (e) ed.perform(fair(e, ed.within.value), L.fair); } },
  stretchPhoto: { label: () => texts.stretch.photo, available: () => ends() !== null && Boolean(ed.photo.value?.trace), run: followPhoto },
  ...Object.fromEntries(/** @type {const} */ (["mirror", "borrow", "match"]).map((k) => [`stretch-${k}`, { label: () => texts.stretch[k], available: () => ends() !== null, run: () => begin(k) }])),
  takePoint: { label: () => texts.stretch.take, available: () => POINTED.has(ed.toolName.value) && ed.single.value !== null, run: takePoint },
  stretchOther: { label: () => texts.stretch.other, available: () => ends() !== null, run: () => { const e = ends(); if (e) ed.stretch.value = { ring: e.ring, from: e.to, to: e.from }; } },
  nextEdge: { label: () => texts.edges.next, available: () => step.value === "edges", run: () => alongEdges(1) },
  prevEdge: { label: () => texts.edges.prev, available: () => step.value === "edges", run: () => alongEdges(-1) },
  cutEdge: { label: () => texts.edges.cut, available: () => cuttable() !== null, run: cutHere },
  joinEdge: {
    label: () => texts.edges.join(before()?.name ?? ""),
    available: () => before() !== null,
    run: () => { const b = before(), id = ed.edgeId.value; if (b && id) { ed.perform(joinEdge(id), L.joinEdge); ed.edgeId.value = b.id; ed.spot.value = null; } },
  },
  repeatFinish: {
    label: () => texts.edges.repeat, available: () => step.value === "edges" && ed.edge.value !== null && ed.lastFinish.value !== null,
    run: () => { const e = ed.edge.value, f = ed.lastFinish.value; if (e && f) ed.perform(setEdges(new Set([e.id]), { finish: f }), L.edgeFinish); },
  },
  removeMark: { label: () => texts.marks.remove, available: () => step.value === "marks" && ed.mark.value !== null, run: () => { const id = ed.markId.value; if (id) ed.perform(removeMark(id), L.removeMark); } },
  ...Object.fromEntries(TOOLS.map((t) => [`tool-${t}`, { label: () => T.tool[t], available: () => toolsOf(step.value).includes(t), run: () => take(t) }])),
  ...Object.fromEntries(STEPS.map((s) => [`step-${s}`, { label: () => texts.steps.goTo(texts.steps[s]), available: () => ed.piece.value !== null, run: () => { if (ed.piece.value) go(stepURL(ed.piece.value.id, s)); } }])),
  angle: { label: () => (ed.angle.value ? texts.tape.length : texts.tape.angle), available: () => toolsOf(step.value).includes("measure"), run: () => { take("measure"); [ed.angle.value, ed.tape.value] = [!ed.angle.value, []]; } },
  snap: { label: () => (ed.snapping.value ? texts.snap.off : texts.snap.on), available: () => step.value === "outline", run: () => { ed.snapping.value = !ed.snapping.value; } },
  smoother: { label: () => texts.smooth.more, available: slides, run: () => slideBy(0.2) },
  closer: { label: () => texts.smooth.less, available: slides, run: () => slideBy(-0.2) },
  showRaw: { label: () => texts.seen.raw, available: sees, run: () => { ed.showRaw.value = !ed.showRaw.value; } },
  showBand: { label: () => texts.seen.band, available: sees, run: () => { ed.showBand.value = !ed.showBand.value; } },
  unit: { label: () => `${texts.unit.label}: ${texts.unit[unit.value === "cm" ? "in" : "cm"]}`, run: () => { unit.value = unit.value === "cm" ? "in" : "cm"; } },
  wear: { label: () => texts.wear.open, available: () => ed.piece.value !== null, run: () => { if (ed.piece.value) go(`#/garment/${ed.piece.value.garment_id}/wear`); } },
  save: { label: () => texts.save.now, available: () => ed.piece.value !== null, run: () => void saveNow() },
  palette: { label: () => texts.palette.open, run: () => { paletteOpen.value = true; } },
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
const PLAIN = { "/": "palette", u: "unit", l: "stretchLine", s: "snap", f: "stretchFair", c: "cutEdge", j: "joinEdge", r: "repeatFinish", ...Object.fromEntries(STEPS.map((s, i) => [`${i + 1}`, `step-${s}`])), Delete: "deleteKnots", Backspace: "deleteKnots", "+": "zoomIn", "=": "zoomIn", "-": "zoomOut", 0: "fit", n: "next", b: "prev", Enter: "takePoint", Escape: "escape" };

/** The same keys go along points or edges, and delete points or marks. @param {string} id */
function meant(id) {
  if (step.value === "edges" && ed.toolName.value !== "measure") return { next: "nextEdge", prev: "prevEdge" }[id] ?? id;
  return step.value === "marks" && id === "deleteKnots" ? "removeMark" : id;
}

/** @type {Record<string, string>} */
const SHOWN = { undo: "Ctrl Z", redo: "Shift Ctrl Z", nextEdge: "N", prevEdge: "B", removeMark: "Delete", escape: "Esc", deleteKnots: "Delete" };

/** The key of a command, or nothing. @param {string} id */
export const keysOf = (id) => SHOWN[id] ?? Object.entries(PLAIN).find(([, v]) => v === id)?.[0].toUpperCase() ?? "";

/**
 * What a key does in the editor; true when it did something.
 * @param {{ key: string, ctrlKey: boolean, metaKey: boolean, shiftKey: boolean, altKey: boolean }} e
 * @param {boolean} onCanvas whether the photo has the focus: only there keys without Ctrl or Cmd count, but for Esc
 */
export function key(e, onCanvas) {
  if (e.ctrlKey || e.metaKey) {
    if (e.key.toLowerCase() === "k") return run("palette"), true;
    if (e.key.toLowerCase() !== "z") return false;
    run(e.shiftKey ? "redo" : "undo");
    return true;
  }
  if (!onCanvas && e.key !== "Escape") return false;
  const arrow = ARROWS[e.key];
  if (arrow) (step.value === "marks" && ed.mark.value ? nudgeMark : nudge)(arrow[0], arrow[1], e.shiftKey ? 10 : e.altKey ? 0.1 : 1);
  const plain = PLAIN[e.key.length === 1 ? e.key.toLowerCase() : e.key], id = plain && meant(plain);
  if (id) run(id);
  return Boolean(arrow || id);
}
