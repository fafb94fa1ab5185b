// How the pieces of a garment lie on a cloth: what the service found, what the person
// moved, and what is being looked for.

import { batch, computed, signal } from "@preact/signals";
import * as api from "../api.js";
import { bedOf, slide, turned } from "../model/laid.js";
import { texts } from "../texts.js";
import { say, unit } from "./app.js";
import * as store from "./garments.js";
import { explain, sayProblem } from "./problems.js";

/** @import {Clash, FullCloth, Laid, LayPlan, LayShape, Trouble, WidthRow} from "../lay" */

const T = texts.lay;
const SECONDS = 20, FIRST_SECONDS = 8;

/** The chosen cloth's id; empty for the main one. */
export const clothId = signal("");
export const shapes = signal(/** @type {readonly LayShape[]} */ ([]));
export const plan = signal(/** @type {LayPlan | null} */ (null));
export const troubles = signal(/** @type {readonly Trouble[]} */ ([]));
export const trouble = signal(/** @type {{ title: string, remedy: string } | null} */ (null));
/** The search that is on: how long its first layout was. */
export const running = signal(/** @type {{ first: number | null } | null} */ (null));
export const word = signal("");
export const rows = signal(/** @type {readonly WidthRow[] | null} */ (null));
export const comparing = signal(false);
/** The chosen piece, by its number. */
export const chosen = signal(-1);
/** What the last move met. */
export const met = signal(/** @type {Clash | null} */ (null));

const past = signal(/** @type {readonly { pieces: readonly Laid[], label: string }[]} */ ([]));
const future = signal(/** @type {readonly { pieces: readonly Laid[], label: string }[]} */ ([]));
export const undoable = computed(() => past.value.at(-1)?.label ?? null);
export const redoable = computed(() => future.value[0]?.label ?? null);

/** What is shown while a piece is dragged. */
const held = signal(/** @type {readonly Laid[] | null} */ (null));
export const pieces = computed(() => held.value ?? plan.value?.pieces ?? []);

let garmentId = "", known = -1;
let asking = new AbortController(), searching = new AbortController();

const query = () => ({ cloth: clothId.value, unit: unit.value });

/** The cloths of the garment; one that is assumed where none is said. */
export const cloths = computed(() => /** @type {readonly FullCloth[]} */ (store.garment.value?.cloths?.length ? store.garment.value.cloths : [{ id: "", name: T.mainName, use: "main" }]));
export const cloth = computed(() => cloths.value.find((c) => c.id === clothId.value) ?? cloths.value[0]);

/** Opens the laying of a garment until the returned function is called. @param {string} id */
export function open(id) {
  garmentId = id;
  known = -1;
  batch(() => {
    [clothId.value, plan.value, shapes.value, troubles.value, trouble.value, rows.value] = ["", null, [], [], null, null];
    [past.value, future.value, chosen.value, word.value, held.value, met.value] = [[], [], -1, "", null, null];
  });
  return () => { searching.abort(); asking.abort(); comparingNow.abort(); garmentId = ""; };
}

/** Fetches what is kept, whenever the garment has another version; lays the pieces where nothing was. */
export async function load() {
  const g = store.garment.value, id = garmentId;
  if (!g || g.id !== id || g.version === known || running.value) return;
  const first = known < 0;
  known = g.version;
  const then = shown;
  if (first && !cloths.value.some((c) => c.id === clothId.value)) clothId.value = cloths.value.find((c) => c.use === "main")?.id ?? cloths.value[0].id;
  if (!g.pieces?.length) return;
  try {
    const got = await api.getLay(id, query());
    if (garmentId !== id || running.value) return;
    batch(() => {
      shapes.value = got.shapes ?? [];
      trouble.value = null;
      // What was moved here since, or is on its way to the service, stays.
      if (saving === 0 && then === shown) [plan.value, troubles.value] = [got.plan, got.troubles];
    });
    if (first && got.plan.pieces.length === 0 && shapes.value.length > 0) void lay(FIRST_SECONDS);
  } catch (e) {
    if (garmentId === id) batch(() => { trouble.value = explain(e); plan.value = null; });
  }
}

/** @param {string} id */
export function choose(id) {
  searching.abort();
  known = -1;
  batch(() => { [clothId.value, plan.value, rows.value, chosen.value, past.value, future.value, word.value] = [id, null, null, -1, [], [], ""]; });
  return load();
}

/** The cloth with an edit, free of what says nothing. @param {Partial<FullCloth>} edit */
function edited(edit) {
  const now = cloth.value, next = /** @type {Record<string, unknown>} */ ({ ...now, id: now.id || "main", ...edit });
  for (const [k, v] of Object.entries(next)) if (v === null || v === undefined || v === "" || v === false || v === 0) if (k !== "name" && k !== "use") delete next[k];
  return /** @type {any} */ (cloths.value.map((c) => (c.id === now.id ? next : c)));
}

/** Changes what does not matter to how pieces lie. @param {Partial<FullCloth>} edit */
export async function noteCloth(edit) {
  const id = cloth.value.id || "main";
  await store.editGarment({ cloths: edited(edit) });
  clothId.value = id;
}

/** Changes the cloth, with the garment. @param {Partial<FullCloth>} edit */
export async function changeCloth(edit) {
  const now = cloth.value, id = now.id || "main", byHand = past.value.some((p) => p.label !== T.laid) || pieces.value.some((p) => p.fixed);
  searching.abort();
  rows.value = null;
  await store.editGarment({ cloths: edited({ width_mm: now.width_mm || 1400, ...edit }) });
  clothId.value = id;
  known = -1;
  const empty = plan.value === null;
  await load();
  if (!byHand && (empty || plan.value?.pieces.length || shapes.value.length) && !trouble.value) void lay();
}

/** Looks for a short layout; pieces that are pinned stay. @param {number} [seconds] */
export async function lay(seconds = SECONDS) {
  searching.abort();
  const mine = (searching = new AbortController()), id = garmentId, before = plan.value?.pieces ?? [];
  const fixed = before.filter((p) => p.fixed);
  batch(() => { running.value = { first: null }; word.value = T.running; trouble.value = null; chosen.value = -1; met.value = null; });
  const end = (/** @type {string} */ text) => {
    if (searching !== mine) return;
    const got = plan.value?.pieces ?? [];
    batch(() => { running.value = null; word.value = text; });
    if (got !== before && got.length > 0 && garmentId === id) keep(before, got, T.laid);
  };
  try {
    await api.streamLay(id, "", query(), { seconds, seed: Math.floor(Math.random() * 1e6), fixed }, mine.signal, (name, got) => {
      if (searching !== mine || mine.signal.aborted) return;
      const first = running.value?.first ?? got.laid_length_mm, by = first - got.laid_length_mm;
      batch(() => {
        running.value = { first };
        [plan.value, troubles.value] = [got, []];
        word.value = by >= 1 ? T.better(lengthText(by)) : T.first;
      });
      if (name === "done") end(T.done(by >= 1 ? lengthText(by) : ""));
    });
    end("");
  } catch (e) {
    if (mine.signal.aborted) end(T.stopped);
    else {
      end("");
      if (searching === mine) trouble.value = explain(e);
    }
  }
}

export const stop = () => searching.abort();

/** @param {number} mm */
const lengthText = (mm) => (unit.value === "in" ? `${(mm / 25.4).toFixed(1)} in` : `${mm >= 10 ? Math.round(mm / 10) : (mm / 10).toFixed(1)} cm`);

/* ---- by hand ---- */

/** @param {readonly Laid[]} list @param {number} i @param {Laid} piece */
const put = (list, i, piece) => list.map((p, k) => (k === i ? piece : p));

/** Begins or goes on with a drag: the piece shows where it can lie. @param {readonly Laid[]} from @param {number} i @param {number} dx @param {number} dy */
export function drag(from, i, dx, dy) {
  const p = plan.value;
  if (!p || running.value) return;
  // From where it lies now, so that it goes round what is in its way.
  const now = held.value ?? from, at = now[i], wishX = from[i].x + dx - at.x, wishY = from[i].y + dy - at.y;
  const got = slide(shapes.value, now, i, wishX, wishY, bedOf(p));
  batch(() => { held.value = put(now, i, got.piece); met.value = got.clash; });
}

/** Ends a drag; keeps it or not. @param {boolean} keepIt */
export function drop(keepIt) {
  const now = held.value, before = plan.value?.pieces;
  held.value = null;
  if (keepIt && now && before) change(now, T.moved);
}

/** @param {number} i @param {number} dx @param {number} dy */
export function nudge(i, dx, dy) {
  const p = plan.value;
  if (!p || running.value || !p.pieces[i]) return;
  const got = slide(shapes.value, p.pieces, i, dx, dy, bedOf(p));
  met.value = got.clash;
  change(put(p.pieces, i, got.piece), T.moved);
}

/** @param {number} i @param {boolean} over */
export function turn(i, over) {
  const p = plan.value;
  if (!p || running.value || !p.pieces[i]) return;
  const shape = shapes.value.find((s) => s.id === p.pieces[i].id), got = turned(shapes.value, p.pieces, i, bedOf(p), over);
  if (!got) return say(over ? T.noFlip : shape && shape.turns.length > 1 && !over && p.cloth.nap !== true ? T.noRoom : T.noTurn);
  if (got.moved > 0.5) say(T.turnedOn(lengthText(got.moved)));
  met.value = null;
  change(put(p.pieces, i, got.piece), T.turnedL);
}

/** @param {number} i */
export function pin(i) {
  const p = plan.value;
  if (!p || running.value || !p.pieces[i]) return;
  const { fixed, ...rest } = p.pieces[i];
  change(put(p.pieces, i, fixed ? rest : { ...rest, fixed: true }), T.pinL);
}

/** A change by hand, as a step that can be undone. @param {readonly Laid[]} next @param {string} label */
function change(next, label) {
  const p = plan.value;
  if (!p || next.every((l, i) => l === p.pieces[i] || (l.x === p.pieces[i].x && l.y === p.pieces[i].y && l.rotation_deg === p.pieces[i].rotation_deg && l.fixed === p.pieces[i].fixed))) return;
  keep(p.pieces, next, label);
}

/** @param {readonly Laid[]} before @param {readonly Laid[]} next @param {string} label */
function keep(before, next, label) {
  batch(() => {
    if (before.length > 0) past.value = [...past.value, { pieces: before, label }];
    future.value = [];
  });
  show(next);
}

export function undo() {
  const step = past.value.at(-1), p = plan.value;
  if (!step || !p || running.value) return;
  batch(() => { past.value = past.value.slice(0, -1); future.value = [{ pieces: p.pieces, label: step.label }, ...future.value]; });
  show(step.pieces);
}

export function redo() {
  const step = future.value[0], p = plan.value;
  if (!step || !p || running.value) return;
  batch(() => { future.value = future.value.slice(1); past.value = [...past.value, { pieces: p.pieces, label: step.label }]; });
  show(step.pieces);
}

let saving = 0, shown = 0;

/** Shows pieces, asks what is wrong with them, and keeps them. @param {readonly Laid[]} next */
async function show(next) {
  const p = plan.value, id = garmentId;
  if (!p) return;
  plan.value = { ...p, pieces: [...next] };
  asking.abort();
  const mine = (asking = new AbortController());
  saving++;
  shown++;
  try {
    const got = await api.checkLay(id, query(), next, mine.signal);
    if (mine.signal.aborted || garmentId !== id) return;
    batch(() => { plan.value = { ...got.plan, pieces: [...next] }; troubles.value = got.troubles; });
    const others = (store.garment.value?.lays ?? []).filter((l) => l.cloth !== clothId.value);
    await store.editGarment(/** @type {any} */ ({ lays: [...others, { cloth: clothId.value, pieces: next }] }));
    if (garmentId === id) known = store.garment.value?.version ?? known;
  } catch (e) {
    if (!mine.signal.aborted) sayProblem(e);
  } finally {
    saving--;
  }
}

/** Whether all is kept. */
export const settled = () => saving === 0 && !running.value;

let comparingNow = new AbortController();

/** Looks at other widths, one after the other. */
export async function compare() {
  comparingNow.abort();
  const mine = (comparingNow = new AbortController());
  batch(() => { rows.value = []; comparing.value = true; });
  try {
    await api.streamLay(garmentId, "/widths", query(), {}, mine.signal, (name, row) => { if (name === "width" && comparingNow === mine) rows.value = [...(rows.value ?? []), row]; });
  } catch (e) {
    if (!mine.signal.aborted) { rows.value = null; sayProblem(e); }
  }
  if (comparingNow === mine) comparing.value = false;
}
