// Marks on a document: where they are, and new ones from where a person pointed.

import { chainLength, fractionAt, pointAt } from "../geom/arc.js";
import { nearest } from "../geom/nearest.js";
import { measure } from "../geom/ring.js";
import { distance } from "../geom/vec.js";
import { readPoint } from "./codec.js";
import { freshName, spanAt, spanOf } from "./edges.js";
import { halfTurn } from "./plan.js";

/** @import {Doc, Mark, MarkKind, Point, Trace} from "../types" */

/** How many points a person gives for a mark. @param {MarkKind} kind */
export const wants = (kind) => (["notch", "snip", "drill-hole", "text"].includes(kind) ? 1 : 2);

/** Marks with the points at which they can be held. @param {Doc} doc @returns {{ mark: Mark, points: readonly Point[] }[]} */
export const marksDrawn = (doc) => doc.marks.flatMap((mark) => {
  const points = gripsOf(doc, mark);
  return points.length > 0 ? [{ mark, points }] : [];
});

/** @param {Doc} doc @param {Mark} mark @returns {readonly Point[]} */
export function gripsOf(doc, mark) {
  if (mark.points) return mark.points;
  const span = mark.edge ? spanOf(doc, mark.edge) : null;
  if (span) return [pointAt(span.chain, mark.kind === "notch" ? mark.at ?? 0 : 0.5)];
  return mark.kind === "grain" && doc.rings[0] ? [measure(doc.rings[0]).centre] : [];
}

/** The edge and the fraction along it nearest to a place. @param {Doc} doc @param {Point} p @param {number} reach mm @returns {{ edge: string, at: number } | null} */
export function placedAt(doc, p, reach) {
  const place = nearest([doc.rings[0]], p, reach), span = place && spanAt(doc, place.id);
  if (!place || !span) return null;
  const n = doc.rings[0].length, i = doc.rings[0].findIndex((k) => k.id === place.id);
  return { edge: span.edge.id, at: Math.round(fractionAt(span.chain, (i - span.first + n) % n, place.t) * 1e6) / 1e6 };
}

/** A notch is placed on the edge that is nearest, within so many mm. */
const NEAR = 40;
/** What a new dart takes in, mm, until it is said. */
const DART = 20;

/**
 * A new mark from the points that a person gave; null where it needs an edge
 * and none is near.
 * @param {Doc} doc @param {MarkKind} kind @param {readonly Point[]} points @param {string} words what a new text says @returns {Mark | null}
 */
export function newMark(doc, kind, points, words) {
  const id = freshName(doc.marks, kind);
  if (kind === "notch" || kind === "snip") {
    const on = placedAt(doc, points[0], NEAR);
    return on && (kind === "notch" ? { id, kind, ...on } : { id, kind, edge: on.edge });
  }
  if (kind === "dart") {
    const on = placedAt(doc, points[0], NEAR);
    return on && { id, kind, ...on, width_mm: DART, points: [points[1]] };
  }
  return { id, kind, points, ...(kind === "text" && { text: words }) };
}

/** The grain of a document as a direction in the plane, or null. @param {Doc} doc */
export function grainOf(doc) {
  const m = doc.marks.find((x) => x.kind === "grain" && !x.detached);
  if (!m) return null;
  if (m.deg !== undefined) return m.deg;
  const [a, b] = m.points ?? [];
  if (a && b) return halfTurn((Math.atan2(b.y - a.y, b.x - a.x) * 180) / Math.PI);
  const span = m.edge ? spanOf(doc, m.edge) : null;
  if (!span) return null;
  const p = span.chain[0].a, q = span.chain[span.chain.length - 1].d;
  return halfTurn((Math.atan2(q.y - p.y, q.x - p.x) * 180) / Math.PI);
}

/** A cut that the photo shows belongs to an outline that runs so near, mm: a person may have moved it since. */
const OVER = 12;
/** Notches that lie so near to each other along an edge are the same, mm. */
const SAME = 5;

/**
 * Cuts in the edge that the tracer took for notches and that are none of the
 * document yet, as the marks that they would be.
 * @param {Doc} doc @param {Trace | null} trace @returns {{ mark: Mark, on: string, along: number, deep: number, sure: number }[]} the edge's name, mm from its beginning, depth in mm and certainty
 */
export function seenNotches(doc, trace) {
  const known = doc.marks.filter((m) => m.kind === "notch").flatMap((m) => gripsOf(doc, m)), id = freshName(doc.marks, "notch");
  return (trace?.pieces ?? []).flatMap((p) => p.notch_cuts ?? []).flatMap((c) => {
    const on = placedAt(doc, readPoint(c.at_mm), OVER), span = on && spanOf(doc, on.edge);
    if (!on || !span || known.some((p) => distance(p, pointAt(span.chain, on.at)) < SAME)) return [];
    return [{ mark: { id, kind: /** @type {const} */ ("notch"), ...on }, on: span.edge.name, along: on.at * chainLength(span.chain), deep: c.depth_mm, sure: c.sure }];
  });
}
