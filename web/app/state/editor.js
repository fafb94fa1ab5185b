// What the piece editor works on. Everything else is computed from these.

import { computed, effect, signal } from "@preact/signals";
import * as steps from "../history.js";
import { find } from "../model/doc.js";

/** @import {Action, Doc, Finish, History, Mark, MarkKind, Photo, Place, Point, SaveState, Snap, StrokeKind, ToolName, Viewport, WirePiece, Knot} from "../types" */
/** @import {Ends} from "../actions/stretch.js" */

export const piece = signal(/** @type {WirePiece | null} */ (null));
export const photo = signal(/** @type {Photo | null} */ (null));
export const history = signal(/** @type {History | null} */ (null));
export const selection = signal(/** @type {ReadonlySet<number>} */ (new Set()));
export const viewport = signal(/** @type {Viewport} */ ({ scale: 1, left: 0, top: 0, width: 0, height: 0 }));
export const toolName = signal(/** @type {ToolName} */ ("move"));
/** The chosen edge, and where on it the person pointed. */
export const edgeId = signal(/** @type {string | null} */ (null));
export const spot = signal(/** @type {Place | null} */ (null));
/** The finish that was given last, to be given again. */
export const lastFinish = signal(/** @type {Finish | null} */ (null));
export const markId = signal(/** @type {string | null} */ (null));
/** The chosen stretch of the outline; `to` is missing while only one end is chosen. */
export const stretch = signal(/** @type {(Omit<Ends, "to"> & { to: number | null }) | null} */ (null));
/** The same once both its ends are chosen. */
export const ends = computed(() => { const s = stretch.value; return s && s.to !== null ? /** @type {Ends} */ ({ ring: s.ring, from: s.from, to: s.to }) : null; });
/** The places that are measured between so far; of three the angle at the second one. */
export const tape = signal(/** @type {readonly Snap[]} */ ([]));
export const angle = signal(false);
/** The mark that is being drawn, and its points so far. */
export const placing = signal(/** @type {{ kind: MarkKind, points: readonly Point[] } | null} */ (null));
export const brushWidth = signal(12);
/** How far a smoothed stretch may leave the present one, in mm. */
export const within = signal(1.5);
/** Where the loupe looks while a finger covers the point, or null. */
export const loupe = signal(/** @type {Point | null} */ (null));
/** Where a point would be added, or null. */
export const ghost = signal(/** @type {Point | null} */ (null));
/** Whether what is dragged is drawn to lines that it may agree with, and those that it agrees with now. */
export const snapping = signal(true);
export const agrees = signal(/** @type {{ at: Point, on: readonly import("../geom/guides.js").Guide[] } | null} */ (null));
/** The stroke that is being painted. */
export const wet = signal(/** @type {{ kind: StrokeKind, width: number, points: readonly Point[] } | null} */ (null));
/** The brush under the mouse, or null. */
export const brushAt = signal(/** @type {Point | null} */ (null));
export const retracing = signal(/** @type {{ text: string } | null} */ (null));
export const saveState = signal(/** @type {SaveState} */ ({ kind: "saved" }));
export const strength = signal(100);
/** What is shown of the edge before it was cleaned, and of its doubt. */
export const showRaw = signal(false);
export const showBand = signal(false);
export const showCards = signal(true);
export const panelOpen = signal(false);
/** Whether a drag is going on: nothing is saved until it ends. */
export const dragging = signal(false);

export const doc = computed(() => history.value?.present.doc ?? null);
export const rings = computed(() => doc.value?.rings ?? []);

export const name = computed(() => doc.value?.name ?? "");
export const ready = computed(() => doc.value !== null);
/** The document as it was before the drag that is going on: what need not follow every move shows this. */
export const settled = signal(/** @type {Doc | null} */ (null));
effect(() => { if (!dragging.value) settled.value = doc.value; });

/** The selected knots in the outline's order. */
export const selected = computed(() => {
  const ids = selection.value;
  /** @type {Knot[]} */
  const out = [];
  if (ids.size > 0) for (const ring of rings.value) for (const k of ring) if (ids.has(k.id)) out.push(k);
  return out;
});

/** The chosen edge, or null where it is gone. */
export const edge = computed(() => doc.value?.edges?.find((e) => e.id === edgeId.value) ?? null);
/** The chosen mark, or null where it is gone. */
export const mark = computed(() => /** @type {Mark | null} */ (doc.value?.marks.find((m) => m.id === markId.value) ?? null));

/** The one selected knot with its neighbours, or null. */
export const single = computed(() => (selected.value.length === 1 && doc.value ? find(doc.value, selected.value[0].id) : null));

/** The same as it was before the drag that is going on: what is said about it need not follow every move. */
export const still = computed(() => { const [id, more] = selection.value; return id !== undefined && more === undefined && settled.value ? find(settled.value, id) : null; });

/** What undo and redo would take back or bring again, or null. */
export const undoable = computed(() => (history.value?.past.length ? history.value.present.label : null));
export const redoable = computed(() => history.value?.future[0]?.label ?? null);

/** @param {Iterable<number>} ids */
export const select = (ids) => (selection.value = new Set(ids));

/** @param {Action} action @param {string} label */
export function perform(action, label) {
  const h = history.value;
  if (h) setHistory(steps.perform(h, action(h.present.doc), label));
}

/** Puts another document in place of the present one without a step: what the service made of it. @param {Doc} next */
export function exchange(next) {
  if (history.value) setHistory(steps.replace(history.value, next));
}

/** @param {History} h */
function setHistory(h) {
  history.value = h;
  const ids = new Set(h.present.doc.rings.flat().map((k) => k.id));
  if ([...selection.value].some((id) => !ids.has(id))) select([...selection.value].filter((id) => ids.has(id)));
}

/** The history as it was when the drag began. @type {History | null} */
let before = null;

/**
 * One move of a drag: the action is applied to the document as it was when the
 * drag began, so that a drag leaves one step however many moves it had.
 * @param {Action} action @param {string} label
 */
export function drag(action, label) {
  const h = history.value;
  if (!h) return;
  before ??= h;
  dragging.value = true;
  const next = action(before.present.doc);
  setHistory(h === before ? steps.perform(h, next, label) : steps.replace(h, next));
}

export function endDrag() {
  // A drag that came back to where it began is no step.
  if (before && history.value?.present.doc === before.present.doc) history.value = before;
  before = null;
  dragging.value = false;
}

/** Takes the drag back as if it had never been. */
export function cancelDrag() {
  if (before) setHistory(before);
  endDrag();
}

export const undo = () => { endDrag(); if (history.value) setHistory(steps.undo(history.value)); };
export const redo = () => { endDrag(); if (history.value) setHistory(steps.redo(history.value)); };
