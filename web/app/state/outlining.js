// An outline that is being drawn on the cloth: nothing is kept before it is done.

import { computed, signal } from "@preact/signals";
import { between, flawOf, settled } from "../model/outline.js";
import * as L from "./laying.js";

/** @import {Point} from "../types" */

/** What is drawn: the remnant, or a flaw by its number (one more than there are is a new one); at: the chosen corner. */
export const drawn = signal(/** @type {{ what: "remnant" | "flaw", index: number, points: readonly Point[], at: number } | null} */ (null));
export const wrong = computed(() => (drawn.value ? flawOf(drawn.value.points) : null));

/** @param {readonly (readonly number[])[] | undefined} ring */
const points = (ring) => (ring ?? []).map(([x, y]) => ({ x, y }));

/** @param {"remnant" | "flaw"} what @param {number} [index] */
export function begin(what, index = 0) {
  L.stop();
  L.chosen.value = -1;
  const ring = points(what === "remnant" ? L.cloth.value.remnant_mm : L.cloth.value.flaws_mm?.[index]);
  drawn.value = { what, index, points: ring, at: ring.length - 1 };
}

export const cancel = () => { drawn.value = null; };

/** How far a corner may lie from the lower edge, mm. */
export const width = () => L.plan.value?.laid_width_mm ?? 0;

/** A corner more, after the chosen one; where it is not said, somewhere near. @param {Point} [p] @param {number} [near] mm */
export function add(p, near = 0) {
  const d = drawn.value;
  if (!d) return;
  const at = d.at + 1, q = p ? settled(p, width(), near) : between(d.points, d.at, width());
  drawn.value = { ...d, points: [...d.points.slice(0, at), q, ...d.points.slice(at)], at };
}

/** @param {number} i @param {Point} p @param {number} [near] mm */
export function move(i, p, near = 0) {
  const d = drawn.value;
  if (d) drawn.value = { ...d, at: i, points: d.points.map((q, k) => (k === i ? settled(p, width(), near) : q)) };
}

/** @param {number} i */
export function choose(i) {
  if (drawn.value && drawn.value.at !== i) drawn.value = { ...drawn.value, at: i };
}

/** @param {number} i */
export function remove(i) {
  const d = drawn.value;
  if (d && d.points[i]) drawn.value = { ...d, points: d.points.filter((_, k) => k !== i), at: Math.max(0, i - 1) - (d.points.length === 1 ? 1 : 0) };
}

/** Keeps it with the cloth. */
export function done() {
  const d = drawn.value;
  if (!d || wrong.value) return;
  const ring = /** @type {[number, number][]} */ (d.points.map((p) => [p.x, p.y])), flaws = [...(L.cloth.value.flaws_mm ?? [])];
  flaws[d.index] = ring;
  drawn.value = null;
  void L.changeCloth(d.what === "remnant" ? { remnant_mm: ring } : { flaws_mm: flaws });
}
