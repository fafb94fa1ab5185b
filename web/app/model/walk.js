// The sides of a seam as they are walked along each other.

import { chainLength } from "../geom/arc.js";

/** @import {Run, SeamPair, SeamRow, Segment} from "../types" */

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

/**
 * How long an edge of a seam must be along its outline for the seam to agree where
 * it is sewn: both sides as they are now, each by what its stitch line was longer
 * than its outline when it was checked. What that is hardly changes as a point moves.
 * @param {SeamPair} pair @param {Run} run the edge @param {SeamRow | undefined} row its check, where there is one
 * @param {(runs: readonly Run[]) => number} long mm along the outlines
 * @returns {{ mm: number, other: Run } | null} null where the edge is not of the seam or has no length left
 */
export function agreed(pair, run, row, long) {
  const sewn = row ? { a: row.a_mm - row.a_traced_mm, b: row.b_mm - row.b_traced_mm } : { a: 0, b: 0 }, ease = pair.ease_mm ?? 0;
  const is = (/** @type {Run} */ r) => r.piece === run.piece && r.edge === run.edge;
  for (const [mine, other, more] of /** @type {const} */ ([["a", "b", ease], ["b", "a", -ease]])) {
    if (!pair[mine].some(is)) continue;
    const mm = long(pair[other]) + sewn[other] - sewn[mine] + more - long(pair[mine].filter((r) => !is(r)));
    if (mm > 0) return { mm, other: pair[other][0] };
  }
  return null;
}
