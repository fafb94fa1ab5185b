// Rows of old stitch holes that the tracer saw, as they belong to the edges.

import { chainLength } from "../geom/arc.js";
import { at } from "../geom/cubic.js";
import { nearestOn } from "../geom/nearest.js";
import { distance } from "../geom/vec.js";
import { readPoint } from "./codec.js";
import { spanOf } from "./edges.js";

/** @import {Doc, Point, Segment, Trace} from "../types" */

/** The ends of a row lie this near to its edge, in mm. */
const NEAR = 3;
/** A row tells an edge's allowance when it runs along at least this part of it. */
const LEAST = 0.3;

/** @param {Segment[]} chain @param {Point} p */
const far = (chain, p) => Math.min(...chain.map((s) => distance(p, at(s, nearestOn(s, p)))));

/** How far inside an edge its old stitch holes lie, mm, and how sure that is; null where none were seen. @param {Doc} doc @param {string} id @param {Trace | null} trace */
export function seenAllowance(doc, id, trace) {
  const span = spanOf(doc, id), rows = (trace?.pieces ?? []).flatMap((p) => p.stitch_rows ?? []);
  if (!span || rows.length === 0) return null;
  const whole = chainLength(span.chain);
  const mine = rows.filter((r) => {
    const a = readPoint(r.from_mm), b = readPoint(r.to_mm);
    return far(span.chain, a) < NEAR && far(span.chain, b) < NEAR && distance(a, b) >= LEAST * whole;
  });
  const best = mine.sort((a, b) => b.sure - a.sure)[0];
  return best ? { mm: best.distance_mm, sure: best.sure } : null;
}
