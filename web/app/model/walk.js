// The sides of a seam as they are walked along each other.

import { chainLength } from "../geom/arc.js";

/** @import {Run, Segment} from "../types" */

/** Ticks stand so far apart, mm: at most a dozen of them. @param {number} mm */
export const tickStep = (mm) => [10, 20, 50, 100, 200, 500].find((s) => mm / s <= 12) ?? 1000;

/** Where each edge begins along its side, and how much of its end the other side lacks, by piece and edge. @param {{ a: Run[], b: Run[] }} pair @param {(r: Run) => Segment[]} chain */
export function walked(pair, chain) {
  const long = /** @type {const} */ (["a", "b"]).map((k) => pair[k].reduce((l, r) => l + chainLength(chain(r)), 0)), step = tickStep(Math.max(...long));
  /** @type {Map<string, { from: number, over: number, step: number }>} */
  const out = new Map();
  /** @type {const} */ (["a", "b"]).forEach((side, k) => {
    let from = 0;
    for (const r of pair[side]) {
      const end = from + chainLength(chain(r));
      out.set(`${r.piece} ${r.edge}`, { from, over: Math.max(0, end - Math.max(from, long[1 - k])), step });
      from = end;
    }
  });
  return out;
}
