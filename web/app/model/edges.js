// The edges of a document: which stretch each takes, and how they are cut and
// joined without losing the marks that hang on them.

import { segment } from "../geom/cubic.js";
import { chainLength } from "../geom/arc.js";

/** @import {Doc, Edge, Mark, Ring, Segment} from "../types" */

/**
 * @typedef {object} Span an edge with its place on the outline
 * @property {Edge} edge
 * @property {number} first index of its first knot
 * @property {number} count how many segments it has
 * @property {Segment[]} chain
 */

/** @type {WeakMap<readonly Edge[], { ring: Ring, spans: Span[] }>} */
const kept = new WeakMap();

/** All edges in their order; none where they are not known. @param {Doc} doc @returns {Span[]} */
export function spans(doc) {
  const ring = doc.rings[0], edges = doc.edges;
  if (!ring || !edges) return [];
  const before = kept.get(edges);
  if (before?.ring === ring) return before.spans;
  const index = new Map(ring.map((k, i) => [k.id, i])), n = ring.length;
  const placed = edges.flatMap((edge) => { const first = index.get(edge.knot); return first === undefined ? [] : [{ edge, first }]; });
  placed.sort((a, b) => a.first - b.first);
  const out = placed.map(({ edge, first }, i) => {
    const next = placed[(i + 1) % placed.length].first, count = ((next - first + n - 1) % n) + 1;
    return { edge, first, count, chain: Array.from({ length: count }, (_, j) => segment(ring, (first + j) % n)) };
  });
  kept.set(edges, { ring, spans: out });
  return out;
}

/** @param {Doc} doc @param {string} id */
export const spanOf = (doc, id) => spans(doc).find((s) => s.edge.id === id) ?? null;

/** The edge that the segment beginning at a knot belongs to, or null. @param {Doc} doc @param {number} knot */
export function spanAt(doc, knot) {
  const ring = doc.rings[0], i = ring.findIndex((k) => k.id === knot), n = ring.length;
  if (i < 0) return null;
  return spans(doc).find((s) => (i - s.first + n) % n < s.count) ?? null;
}

/** An id that no edge or mark has. @param {readonly { id: string }[]} taken @param {string} stem */
export function freshName(taken, stem) {
  const ids = new Set(taken.map((t) => t.id));
  let n = 1;
  while (ids.has(`${stem}-${n}`)) n++;
  return `${stem}-${n}`;
}

/**
 * The document with another list of edges. Marks on an edge that went into
 * another, or was cut in two, keep their places along the outline.
 * @param {Doc} doc @param {readonly Edge[]} edges @returns {Doc}
 */
export function withEdges(doc, edges) {
  const next = { ...doc, edges };
  const old = spans(doc), now = spans(next), n = doc.rings[0].length;
  const marks = doc.marks.map((m) => {
    const from = m.edge ? old.find((s) => s.edge.id === m.edge) : null;
    if (!from || m.edge === undefined) return m;
    const same = now.find((s) => s.edge.id === m.edge);
    if (same && same.first === from.first && same.count === from.count) return m;
    return moved(m, from, now, n);
  });
  return { ...next, marks: marks.some((m, i) => m !== doc.marks[i]) ? marks : doc.marks };
}

/** @param {Mark} m @param {Span} from @param {Span[]} now @param {number} n knots of the ring @returns {Mark} */
function moved(m, from, now, n) {
  let way = (m.at ?? 0.5) * chainLength(from.chain), j = 0;
  while (j < from.count - 1 && way > chainLength([from.chain[j]])) way -= chainLength([from.chain[j++]]);
  const i = (from.first + j) % n, to = now.find((s) => (i - s.first + n) % n < s.count);
  if (!to) return m;
  if (m.kind !== "notch") return { ...m, edge: to.edge.id };
  const before = chainLength(to.chain.slice(0, (i - to.first + n) % n)), whole = chainLength(to.chain);
  return { ...m, edge: to.edge.id, at: whole > 0 ? Math.min(1, (before + way) / whole) : 0 };
}

/**
 * The edges after knots are gone: one that began at such a knot goes on as part
 * of the one before it; the last one that is left begins at the next knot.
 * @param {Doc} doc @param {ReadonlySet<number>} gone @returns {Doc}
 */
export function withoutKnots(doc, gone) {
  if (!doc.edges?.some((e) => gone.has(e.knot))) return doc;
  const left = doc.edges.filter((e) => !gone.has(e.knot));
  if (left.length > 0) return withEdges(doc, left);
  const ring = doc.rings[0], only = doc.edges[0], from = ring.findIndex((k) => k.id === only.knot);
  const next = ring.map((_, j) => ring[(from + j) % ring.length]).find((k) => !gone.has(k.id));
  return next ? withEdges(doc, [{ ...only, knot: next.id }]) : doc;
}
