// What is sewn together in a garment: pairs of edges, measures, and what their
// check says. Every change can be undone, and is sent at once.

import { computed, signal } from "@preact/signals";
import * as api from "../api.js";
import * as store from "./garments.js";
import { say } from "./app.js";
import { explain } from "./problems.js";

/** @import {Garment, Parts, Report, Run} from "../types" */

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

const past = signal(/** @type {readonly { lists: Lists, label: string }[]} */ ([]));
const future = signal(/** @type {readonly { lists: Lists, label: string }[]} */ ([]));
let of = "";
export const undoable = computed(() => past.value.at(-1)?.label ?? null);
export const redoable = computed(() => future.value[0]?.label ?? null);

/** @param {(lists: Lists) => Lists} change @param {string} label */
export function change(change, label) {
  const before = lists.value, next = change(before);
  if (next === before) return;
  past.value = [...past.value, { lists: before, label }];
  future.value = [];
  send(next);
}

export function undo() {
  const step = past.value.at(-1);
  if (!step) return;
  past.value = past.value.slice(0, -1);
  future.value = [{ lists: lists.value, label: step.label }, ...future.value];
  send(step.lists);
}

export function redo() {
  const step = future.value[0];
  if (!step) return;
  future.value = future.value.slice(1);
  past.value = [...past.value, { lists: lists.value, label: step.label }];
  send(step.lists);
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

