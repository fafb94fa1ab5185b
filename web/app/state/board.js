// What is sewn together in a garment: pairs of edges, measures, and what their
// check says. Every change can be undone, and is sent at once.

import { computed, signal } from "@preact/signals";
import * as api from "../api.js";
import { freeze } from "../model/doc.js";
import { readPiece, writePiece } from "../model/codec.js";
import { texts } from "../texts.js";
import * as ed from "./editor.js";
import * as store from "./garments.js";
import { say } from "./app.js";
import { explain } from "./problems.js";
import { saveNow } from "./session.js";

/** @import {Doc, Garment, Parts, Report, Run} from "../types" */

export const report = signal(/** @type {Report | null} */ (null));
export const checking = signal(false);
export const trouble = signal(/** @type {{ title: string, remedy: string } | null} */ (null));
/** The first edge of a pair that is being made. */
export const held = signal(/** @type {Run | null} */ (null));
/** The pair that is shown and changed. */
export const open = signal(/** @type {string | null} */ (null));
/** The side of a seam that the next edge is added to. */
export const adding = signal(/** @type {{ id: string, side: "a" | "b" } | null} */ (null));
export const mode = signal(/** @type {"seam" | "curve"} */ ("seam"));

/** @typedef {Pick<Parts, "seam_pairs" | "curve_pairs" | "measures" | "cloths">} Lists */
/** @param {Garment | null} g @returns {Lists} */
const listsOf = (g) => ({ seam_pairs: g?.seam_pairs ?? [], curve_pairs: g?.curve_pairs ?? [], measures: g?.measures ?? [], cloths: g?.cloths ?? [] });

/** What was changed here and not yet heard of again. */
const ahead = signal(/** @type {{ id: string, lists: Lists } | null} */ (null));
export const lists = computed(() => (ahead.value && ahead.value.id === store.garment.value?.id ? ahead.value.lists : listsOf(store.garment.value)));

/** @typedef {{ piece: string, from: Doc, to: Doc }} Outline an outline that a step changes */
/** @typedef {{ lists: Lists, label: string, outlines: readonly Outline[] }} Step */
const past = signal(/** @type {readonly Step[]} */ ([]));
const future = signal(/** @type {readonly Step[]} */ ([]));
let of = "";
export const undoable = computed(() => past.value.at(-1)?.label ?? null);
export const redoable = computed(() => future.value[0]?.label ?? null);

/** @param {(lists: Lists) => Lists} change @param {string} label */
export function change(change, label) {
  const before = lists.value, next = change(before);
  if (next === before) return;
  past.value = [...past.value, { lists: before, label, outlines: [] }];
  future.value = [];
  send(next);
}

/** Changes outlines, of whatever pieces, as one step. @param {readonly Outline[]} outlines @param {string} label */
export function reshape(outlines, label) {
  past.value = [...past.value, { lists: lists.value, label, outlines }];
  future.value = [];
  reoutline(outlines, label);
}

/** @param {readonly Outline[]} outlines @param {string} label */
function reoutline(outlines, label) {
  checking.value = true;
  sending = sending.then(() => putOutlines(outlines, label)).then(() => { const g = store.garment.value; return g ? store.refresh(g.id).then(() => check(g.id)) : undefined; });
}

export function undo() {
  const step = past.value.at(-1);
  if (!step) return;
  past.value = past.value.slice(0, -1);
  future.value = [{ ...step, lists: lists.value }, ...future.value];
  if (step.outlines.length) reoutline(step.outlines.map(({ piece, from, to }) => ({ piece, from: to, to: from })), step.label);
  else send(step.lists);
}

export function redo() {
  const step = future.value[0];
  if (!step) return;
  future.value = future.value.slice(1);
  past.value = [...past.value, { ...step, lists: lists.value }];
  if (step.outlines.length) reoutline(step.outlines, step.label);
  else send(step.lists);
}

let sending = Promise.resolve();

/** @param {Lists} next */
function send(next) {
  const g = store.garment.value;
  if (!g) return;
  ahead.value = { id: g.id, lists: next };
  checking.value = true;
  sending = sending.then(() => put(g.id, next)).then(() => check(g.id));
}

/** @param {string} id @param {Lists} next */
async function put(id, next) {
  if (ahead.value?.lists !== next) return; // a newer change follows
  for (let tries = 0; tries < 4; tries++) {
    try {
      const { etag } = await api.getGarment(id);
      await api.patchGarment(id, next, etag);
      await store.refresh(id);
      break;
    } catch (e) {
      const p = /** @type {{ status?: number }} */ (e);
      if (p.status === 412) continue; // something else of the garment changed in between
      const { title, remedy } = explain(e);
      say(title, remedy);
      await store.refresh(id);
      break;
    }
  }
  if (ahead.value?.lists === next) ahead.value = null;
}

/** Stores outlines; one that was changed elsewhere in between is left alone. @param {readonly Outline[]} outlines @param {string} label */
async function putOutlines(outlines, label) {
  for (const { piece, from, to } of outlines) {
    try {
      if (piece === ed.piece.value?.id && ed.doc.value) {
        if (!sameRings(ed.doc.value, from)) say(texts.check.movedOn(to.name));
        // What undo of the outline would bring back is that same step.
        else if (ed.history.value?.past.at(-1)?.doc.rings === to.rings) ed.undo();
        else ed.perform((d) => freeze({ ...d, rings: to.rings }), label);
        await saveNow();
        continue;
      }
      const { piece: now, etag } = await api.getPiece(piece), doc = readPiece(now);
      if (!sameRings(doc, from)) say(texts.check.movedOn(to.name));
      else await api.putPiece(piece, writePiece({ ...doc, rings: to.rings }), etag);
    } catch (e) {
      const { title, remedy } = explain(e);
      say(title, remedy);
    }
  }
}

/** @param {Doc} a @param {Doc} b */
const sameRings = (a, b) => a.rings === b.rings || JSON.stringify(writePiece(a).knots) === JSON.stringify(writePiece(b).knots);

let asked = 0;

/** Asks for the report anew. @param {string} id */
export async function check(id) {
  const turn = ++asked;
  if (of !== id) [of, past.value, future.value, report.value] = [id, [], [], null];
  checking.value = true;
  try {
    const got = await api.checkGarment(id);
    if (turn === asked) [report.value, trouble.value] = [got, null];
  } catch (e) {
    if (turn === asked) trouble.value = explain(e);
  }
  if (turn === asked) checking.value = false;
}

/** Edges with a seam that no pair names, per piece. */
export const alone = computed(() => {
  const paired = new Set(lists.value.seam_pairs.flatMap((s) => [...s.a, ...s.b]).map((r) => `${r.piece} ${r.edge}`));
  /** @type {Map<string, number>} */
  const out = new Map();
  for (const p of store.pieces.value.values())
    out.set(p.id, (p.edges ?? []).filter((e) => e.finish?.kind === "seam" && !paired.has(`${p.id} ${e.id}`)).length);
  return out;
});

