// How smooth the whole outline is drawn: the service fits the edge that the photo
// showed anew, without the photo, while the slider moves.

import { computed, signal } from "@preact/signals";
import { takeOutline } from "../actions/takeOutline.js";
import * as api from "../api.js";
import { distance } from "../geom/vec.js";
import { freshId } from "../model/doc.js";
import { readTraced } from "../model/codec.js";
import { texts } from "../texts.js";
import * as ed from "./editor.js";
import { sayProblem } from "./problems.js";
import { cameFrom, jobOf, nearestPiece, seenOf, traceOf } from "./session.js";

/** @import {Doc, Ring, SeenEdge, Trace, WireTracedPiece} from "../types" */

/** What an outline was asked for, by the certainty that came with it: undo finds the old place of the slider again. @type {WeakMap<object, number>} */
const asked = new WeakMap();

/** Where the slider is held, or null. */
const held = signal(/** @type {number | null} */ (null));
export const fitting = signal(false);

/** From -1, close to the cloth, to 1, as simple as can be; 0 is as traced. */
export const smoothness = computed(() => held.value ?? (ed.doc.value ? asked.get(ed.doc.value.sure) ?? 0 : 0));

/** Why it cannot be changed, or null. @param {Doc} doc */
export const cannotSmooth = (doc) => (!seenOf(doc) ? texts.seen.none : doc.strokes.length > 0 && !jobOf(doc) ? texts.smooth.strokes : null);

let wanted = /** @type {number | null} */ (null);

/** Moves the slider: of the values that come while an answer is on its way, the last one counts. @param {number} to */
export async function slide(to) {
  held.value = wanted = to;
  if (fitting.value) return;
  fitting.value = true;
  const id = ed.piece.value?.id;
  /** The piece was left, or taken back meanwhile. */
  const gone = () => held.value === null || ed.piece.value?.id !== id;
  try {
    while (wanted !== null && id) {
      const now = wanted, doc = ed.doc.value, from = doc && traceOf(doc), best = doc && from && nearestPiece(from.pieces, doc);
      wanted = null;
      if (!best) break;
      const got = await api.smoothPiece(id, now, jobOf(doc));
      if (gone()) return;
      const as = { ...best, knots: got.knots, hole_knots: got.holes, uncertainty_mm: got.uncertainty_mm, fray_mm: got.fray_mm };
      const { rings, sure } = readTraced(as, freshId(doc));
      asked.set(sure, now);
      cameFrom(sure, withPiece(from, best, { ...as, seen: moved(best, rings) }), jobOf(doc), rings[0]);
      ed.drag(takeOutline(rings, sure), texts.editor.labels.smoothness);
    }
  } catch (e) {
    if (!gone()) sayProblem(e);
  } finally {
    fitting.value = false;
    wanted = null;
    if (letGo) end();
  }
}

let letGo = false;

/** The slider is let go: what it did is one step. */
export function release() {
  letGo = true;
  if (!fitting.value) end();
}

function end() {
  letGo = false;
  if (held.value !== null) ed.endDrag();
  held.value = null;
}

/** Forgets what is under way, for a step of the history. */
export function dropSmoothing() {
  held.value = wanted = null;
}

/** @param {Trace} trace @param {WireTracedPiece} was @param {WireTracedPiece} now @returns {Trace} */
const withPiece = (trace, was, now) => ({ ...trace, pieces: trace.pieces.map((p) => (p === was ? now : p)) });

/** The doubts of the edges, each between the points of a new outline that are nearest to its ends. @param {WireTracedPiece} was @param {readonly Ring[]} rings @returns {SeenEdge[]} */
function moved(was, rings) {
  const before = readTraced(was, 0).rings;
  return (was.seen ?? []).map((s, i) => {
    /** @param {number} k */
    const to = (k) => rings[i].map((q, j) => ({ j, d: distance(q.at, before[i][k].at) })).sort((a, b) => a.d - b.d)[0].j;
    return { ...s, doubts: s.doubts.map((d) => ({ ...d, from: to(d.from), to: to(d.to) })) };
  });
}
