// The making sheet of the garment that is open, as the service makes it.

import { signal } from "@preact/signals";
import * as api from "../api.js";
import { recall, remember, unit } from "./app.js";
import { explain, sayProblem } from "./problems.js";

/** @import {Making} from "../lay" */

export const making = signal(/** @type {Making | null} */ (null));
export const trouble = signal(/** @type {{ title: string, remedy: string } | null} */ (null));
/** Steps that were ticked, by their text. */
export const done = signal(/** @type {ReadonlySet<string>} */ (new Set()));

let asked = 0;

/** @param {string} id */
export async function load(id) {
  const turn = ++asked;
  try {
    const got = await api.getMaking(id, unit.value);
    if (turn === asked) [making.value, trouble.value] = [got, null];
  } catch (e) {
    if (turn === asked) [making.value, trouble.value] = [null, explain(e)];
  }
}

/** @param {string} id */
const key = (id) => `secondcut.done.${id}`;

/** @param {string} id */
export function open(id) {
  making.value = null;
  try {
    done.value = new Set(JSON.parse(recall(key(id)) ?? "[]"));
  } catch {
    done.value = new Set();
  }
}

/** @param {string} id @param {string} step */
export function tick(id, step) {
  const next = new Set(done.value);
  if (!next.delete(step)) next.add(step);
  done.value = next;
  remember(key(id), next.size ? JSON.stringify([...next]) : null);
}

/** The whole set: the job that draws it, or the file that it has made. */
export const set = signal(/** @type {{ job?: string, file?: string }} */ ({}));

let unfollow = () => {};

/** @param {string} id @param {{ paper: string, unit: string }} what */
export async function drawSet(id, what) {
  leaveSet();
  const mine = set.value = { job: "" };
  try {
    const job = await api.addExport(id, { format: "pdf", what: "set", ...what });
    if (set.value !== mine) return; // another garment or paper by now
    set.value = { job: job.id };
    unfollow = api.followJob(job.id, (j) => {
      if (set.value.job !== j.id || !api.finished(j)) return;
      set.value = j.status === "done" ? { file: api.jobFileURL(j.id) } : {};
      if (j.refusal && j.status !== "cancelled") sayProblem(j.refusal);
    }, (e) => { set.value = {}; sayProblem(e); });
  } catch (e) {
    if (set.value === mine) set.value = {};
    sayProblem(e);
  }
}

/** Ends the drawing. */
export function stopSet() {
  if (set.value.job) void api.cancelJob(set.value.job).catch(sayProblem);
  leaveSet();
}

/** Lets the drawing go on without being looked at. */
export function leaveSet() {
  unfollow();
  set.value = {};
}
