// What was noticed about the piece and its photo, in the order in which it is listed.

import { computed } from "@preact/signals";
import { bounds } from "../geom/ring.js";
import { readTraced } from "../model/codec.js";
import * as ed from "./editor.js";
import { traceOf } from "./session.js";

/** @import {Bounds, Finding, Trace} from "../types" */

/** How far from a piece what was noticed may lie and still be about it, in millimetres. */
const BESIDE = 15;

/** @param {Bounds} b @param {number} x @param {number} y */
const beside = (b, x, y) => x > b.minX - BESIDE && x < b.maxX + BESIDE && y > b.minY - BESIDE && y < b.maxY + BESIDE;

/** Whether a finding is about this piece or the photo as a whole: not about another piece in it. @param {Finding} f @param {Bounds} here @param {Trace | null} trace */
function concerns(f, here, trace) {
  if (!f.where_mm || beside(here, ...f.where_mm)) return true;
  const [x, y] = f.where_mm;
  return !trace?.pieces.some((p) => beside(bounds(readTraced(p, 0).rings), x, y));
}

export const noticed = computed(() => {
  const doc = ed.settled.value;
  if (!doc) return [];
  const trace = traceOf(doc), here = bounds(doc.rings);
  return [...(trace?.findings ?? []).filter((f) => concerns(f, here, trace)), ...(ed.piece.value?.findings ?? [])];
});
