import { chainLength } from "../geom/arc.js";
import { add, distance, point, sub, times, unit } from "../geom/vec.js";
import { spanOf } from "../model/edges.js";
import { mapKnots } from "../model/doc.js";
import { solve } from "./shape.js";

/** @import {Action, Doc, Point, SeamPair, Segment} from "../types" */

/**
 * Makes an edge longer or shorter, evenly along it: one end stays, the other moves
 * along the line between both, and the edge keeps its depth. The same document
 * where that can't be.
 * @param {string} id @param {number} mm @param {"start" | "end"} moves @returns {Action}
 */
export const lengthen = (id, mm, moves) => (doc) => {
  const span = spanOf(doc, id), ring = doc.rings[0];
  if (!span || span.count >= ring.length || mm === 0) return doc;
  const a = span.chain[0].a, d = span.chain[span.count - 1].d, [stays, goes] = moves === "end" ? [a, d] : [d, a], dir = unit(sub(goes, stays));
  if (!dir || distance(a, d) < 1) return doc;
  /** @param {number} k @returns {(p: Point) => Point} */
  const along = (k) => (p) => { const v = sub(p, stays), x = v.x * dir.x + v.y * dir.y; return add(p, times(dir, (k - 1) * x)); };
  const want = chainLength(span.chain) + mm, k = solve((k) => chainLength(span.chain.map((s) => mapped(s, along(k)))) - want, 0.5, 2);
  if (k === null) return doc;
  const n = ring.length, f = along(k), within = new Map(Array.from({ length: span.count + 1 }, (_, i) => [ring[(span.first + i) % n].id, i]));
  return mapKnots(doc, (knot) => {
    const i = within.get(knot.id);
    if (i === undefined) return knot;
    const at = f(knot.at), by = sub(at, knot.at);
    /** A handle on the edge goes with it, one beside it with its point. @param {Point | null} h @param {boolean} on */
    const handle = (h, on) => h && (on ? f(h) : point(h.x + by.x, h.y + by.y));
    return { ...knot, at, in: handle(knot.in, i > 0), out: handle(knot.out, i < span.count) };
  });
};

/** @param {Segment} s @param {(p: Point) => Point} f @returns {Segment} */
const mapped = (s, f) => ({ a: f(s.a), b: f(s.b), c: f(s.c), d: f(s.d), curved: s.curved });

/** @typedef {"both" | "a" | "b"} Who */

/**
 * What makes the sides of a seam agree: the first one is too long by `off`, and
 * both give way, or one alone; each of its edges as much as it is long. The end
 * where the sewing ends moves, unless that lies on a fold.
 * @param {SeamPair} pair @param {number} off mm @param {Who} who @param {ReadonlyMap<string, Doc>} docs by piece
 * @returns {{ piece: string, from: Doc, to: Doc }[] | null} null where an edge can't give way
 */
export function shared(pair, off, who, docs) {
  const to = new Map(docs);
  for (const [side, mm] of /** @type {const} */ ([["a", who === "b" ? 0 : -off], ["b", who === "a" ? 0 : off]])) {
    const give = who === "both" ? mm / 2 : mm, long = pair[side].map((r) => chainLength(chain(docs.get(r.piece), r.edge))), whole = long.reduce((s, l) => s + l, 0);
    if (give === 0) continue;
    for (const [i, r] of pair[side].entries()) {
      const before = to.get(r.piece), after = before && lengthen(r.edge, (give * long[i]) / whole, moving(before, r))(before);
      if (!after || after === before) return null;
      to.set(r.piece, after);
    }
  }
  return [...to].flatMap(([piece, doc]) => { const from = docs.get(piece); return from && from !== doc ? [{ piece, from, to: doc }] : []; });
}

/** @param {Doc | undefined} doc @param {string} edge @returns {Segment[]} */
const chain = (doc, edge) => (doc && spanOf(doc, edge)?.chain) ?? [];

/** @param {Doc} doc @param {{ edge: string, reverse?: boolean }} run @returns {"start" | "end"} */
function moving(doc, run) {
  const s = spanOf(doc, run.edge), ring = doc.rings[0], n = ring.length;
  /** @param {"start" | "end"} end */
  const folded = (end) => {
    const knot = s && ring[(s.first + (end === "end" ? s.count : 0)) % n].id;
    return doc.edges?.some((e) => { const f = e.finish.kind === "fold" && spanOf(doc, e.id); return f && [f.first, f.first + f.count].some((i) => ring[i % n].id === knot); });
  };
  const sewn = run.reverse ? "start" : "end", other = run.reverse ? "end" : "start";
  return folded(sewn) && !folded(other) ? other : sewn;
}
