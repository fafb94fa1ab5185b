// Pointing out things of known size in a photo: which, where, and tracing with them.

import { batch, computed, signal } from "@preact/signals";
import * as api from "../api.js";
import { fit, pan, toPixel, toPlane, zoom as zoomed } from "../geom/viewport.js";
import { cornersOf, isWhole, readReference, writeReference } from "../model/known.js";
import { texts } from "../texts.js";
import { go, say } from "./app.js";
import { explain, sayProblem } from "./problems.js";

/** @import {Gesture, KnownKind, Photo, Pixel, Viewport} from "../types" */
/** @typedef {{ kind: KnownKind, points: readonly Pixel[] }} Thing */

export const photo = signal(/** @type {Photo | null} */ (null));
export const trouble = signal(/** @type {{ title: string, remedy: string } | null} */ (null));
/** The photo's pixels on the canvas; its y runs down, that of a viewport up. */
export const view = signal(/** @type {Viewport} */ ({ scale: 1, left: 0, top: 0, width: 0, height: 0 }));
/** What is pointed out besides the one at hand. */
export const others = signal(/** @type {readonly Thing[]} */ ([]));
export const kind = signal(/** @type {KnownKind} */ ("a4"));
export const points = signal(/** @type {readonly Pixel[]} */ ([]));
/** Which point the keys move, or -1: then they move the cross. */
export const held = signal(-1);
/** Where the pointer or the cross of the keys is: what the loupe shows. */
export const at = signal(/** @type {Pixel | null} */ (null));
export const busy = signal(false);
export const whole = computed(() => isWhole(kind.value, points.value));
export const corners = computed(() => cornersOf(kind.value, points.value));

let visit = 0;

/** @param {string} id */
export async function open(id) {
  const mine = ++visit;
  batch(() => ([photo.value, trouble.value, others.value, points.value, held.value, at.value, busy.value] = [null, null, [], [], -1, null, false]));
  try {
    const got = await api.getPhoto(id);
    if (mine !== visit) return;
    const [first, ...rest] = (got.references ?? []).map(readReference);
    batch(() => {
      photo.value = got;
      if (first) [kind.value, points.value, others.value] = [first.kind, first.points, rest];
      whole.value && (held.value = 0);
    });
  } catch (e) {
    if (mine === visit) trouble.value = explain(e);
  }
}

export const close = () => void visit++;

/** @param {Pixel} p on the canvas @returns {Pixel} in the photo, kept inside it */
export function toPhoto(p) {
  const q = toPlane(view.value, p), { width, height } = /** @type {Photo} */ (photo.value);
  return { x: Math.min(Math.max(q.x, 0), width - 1), y: Math.min(Math.max(-q.y, 0), height - 1) };
}
/** @param {Pixel} p in the photo @param {Viewport} [v] @returns {Pixel} on the canvas */
export const toCanvas = (p, v = view.value) => toPixel(v, { x: p.x, y: -p.y });

/** The canvas has this size now. @param {number} width @param {number} height */
export function size(width, height) {
  const first = view.value.width === 0;
  view.value = { ...view.value, width, height };
  if (first || !points.value.length) showAll();
}

export function showAll() {
  const p = photo.value;
  if (p) view.value = fit(view.value, { minX: 0, maxX: p.width, minY: -p.height, maxY: 0 }, 8);
}

/** @param {number} factor @param {Pixel} [about] */
export const zoom = (factor, about) => { view.value = zoomed(view.value, about ?? (at.value ? toCanvas(at.value) : { x: view.value.width / 2, y: view.value.height / 2 }), factor); };

/** @param {KnownKind} k */
export const choose = (k) => batch(() => ([kind.value, points.value, held.value] = [k, [], -1]));

/** Sets the next point. @param {Pixel} p in the photo */
function put(p) {
  if (whole.value) return;
  batch(() => {
    points.value = [...points.value, p];
    held.value = whole.value ? -1 : points.value.length - 1;
  });
}

/** @param {number} i @param {Pixel} p in the photo */
const shift = (i, p) => { points.value = points.value.map((q, k) => (k === i ? p : q)); };

/** Takes the last point back, or the thing before it. */
export function back() {
  batch(() => {
    points.value = points.value.slice(0, -1);
    held.value = -1;
  });
}

/** Begins with another thing. */
export const another = () => batch(() => ([others.value, points.value, held.value] = [[...others.value, { kind: kind.value, points: points.value }], [], -1]));

/** @param {number} i */
export const drop = (i) => { others.value = others.value.filter((_, k) => k !== i); };

/** How near a pointer must be to a point to take it, in canvas pixels. */
const NEAR = { mouse: 12, pen: 16, touch: 24 };

/** @param {Pixel} p on the canvas @param {number} reach */
function near(p, reach) {
  const away = points.value.map((q) => { const c = toCanvas(q); return Math.hypot(c.x - p.x, c.y - p.y); });
  const i = away.indexOf(Math.min(...away));
  return i >= 0 && away[i] <= reach ? i : -1;
}

/** What a drag moves: a point by its index, the view, or nothing. @type {number | "view" | null} */
let drags = null;

/** @param {Gesture} g */
export function act(g) {
  if (g.type === "pan") view.value = pan(view.value, g.dx, g.dy);
  else if (g.type === "pinch") view.value = pan(zoomed(view.value, { x: g.at.x - g.dx, y: g.at.y - g.dy }, g.factor), g.dx, g.dy);
  else if (g.type === "hover") at.value = toPhoto(g.at);
  else if (g.type === "tap" || g.type === "double") tap(g.at);
  else if (g.type === "dragstart") {
    const i = near(g.from, NEAR[/** @type {"mouse" | "pen" | "touch"} */ (g.pointer)] ?? NEAR.touch);
    drags = i >= 0 ? i : g.pointer === "mouse" || whole.value ? "view" : points.value.length;
    last = g.from;
    // A finger hides what is under it: the point follows it, and the loupe shows where it is.
    if (typeof drags === "number" && i < 0) put(toPhoto(g.at));
  } else if (g.type === "drag") drag(g.at);
  else if (g.type === "dragend" || g.type === "dragcancel") {
    if (g.type === "dragend" && typeof drags === "number") held.value = drags;
    if (g.type === "dragcancel" && drags === points.value.length - 1) back();
    drags = null;
  }
}
let last = /** @type {Pixel} */ ({ x: 0, y: 0 });

/** While points are missing, one may well stand close to another. */
const SAME = 6;

/** @param {Pixel} p */
function tap(p) {
  const i = near(p, whole.value ? NEAR.touch : SAME);
  at.value = toPhoto(p);
  if (i >= 0) held.value = i;
  else put(toPhoto(p));
}

/** @param {Pixel} p */
function drag(p) {
  if (drags === "view") view.value = pan(view.value, p.x - last.x, p.y - last.y);
  else if (drags !== null) {
    at.value = toPhoto(p);
    shift(drags, toPhoto(p));
  }
  last = p;
}

/** Canvas pixels that an arrow key moves by. */
const STEP = 8;

/** Moves the held point, or the cross, for those who point with keys. @param {number} dx @param {number} dy @param {{ shiftKey: boolean, altKey: boolean }} keys */
export function nudge(dx, dy, keys) {
  const from = held.value >= 0 ? points.value[held.value] : at.value ?? toPhoto({ x: view.value.width / 2, y: view.value.height / 2 });
  const by = (keys.shiftKey ? 5 * STEP : keys.altKey ? 1 : STEP) / view.value.scale, { width, height } = /** @type {Photo} */ (photo.value);
  const to = { x: Math.min(Math.max(from.x + dx * by, 0), width - 1), y: Math.min(Math.max(from.y + dy * by, 0), height - 1) };
  batch(() => {
    at.value = to;
    if (held.value >= 0) shift(held.value, to);
    const c = toCanvas(to), v = view.value, m = 40;
    view.value = pan(v, Math.max(m - c.x, 0) + Math.min(v.width - m - c.x, 0), Math.max(m - c.y, 0) + Math.min(v.height - m - c.y, 0));
  });
}

/** Puts a point where the cross is; lets go of the one that is held. */
export function enter() {
  if (held.value >= 0) held.value = -1;
  else if (at.value) batch(() => { put(/** @type {Pixel} */ (at.value)); held.value = -1; });
}

/** @param {1 | -1} by */
export function walk(by) {
  const n = points.value.length;
  if (n) held.value = held.value < 0 ? (by > 0 ? 0 : n - 1) : (held.value + by + n) % n;
  if (n) at.value = points.value[held.value];
}

/** Keeps what is pointed out, and has the photo traced with it. */
export async function trace() {
  const p = photo.value, mine = visit;
  if (!p || busy.value) return;
  const things = [...others.value, ...(points.value.length ? [{ kind: kind.value, points: points.value }] : [])];
  if (p.status === "traced" && !confirm(texts.known.anewAsk)) return;
  busy.value = true;
  try {
    await api.editPhoto(p.id, { references: things.map(writeReference) });
    await api.traceAgain(p.id, [], true);
    if (mine !== visit) return;
    say(texts.known.tracing);
    go(`#/garment/${p.garment_id}`);
  } catch (e) {
    sayProblem(e);
  }
  busy.value = false;
}
