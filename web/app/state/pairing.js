// Making pairs: one edge, then the other.

import { freshName } from "../model/edges.js";
import { texts } from "../texts.js";
import { say } from "./app.js";
import * as board from "./board.js";
import { pieces } from "./garments.js";

/** @import {Run, SeamPair} from "../types" */

const T = texts.check;

/** What an edge is called. @param {Run} r */
export function edgeName(r) {
  const p = pieces.value.get(r.piece), e = p?.edges?.find((x) => x.id === r.edge);
  return p && e ? `${p.name}, ${e.name}` : T.gone;
}

/** @param {Run} r */
const bare = (r) => edgeName(r).split(", ").slice(1).join(", ") || edgeName(r);

/** @param {Run} a @param {Run} b */
const same = (a, b) => a.piece === b.piece && a.edge === b.edge;

/** An edge was chosen: the first of a pair, the second, or one more for a side of the open seam. @param {Run} run */
export function pairEdge(run) {
  const more = board.adding.value;
  if (more) return addTo(more, run);
  const first = board.held.value;
  if (!first) {
    board.held.value = run;
    return say(T.first(edgeName(run)));
  }
  if (same(first, run)) {
    board.held.value = null;
    return say(T.twice);
  }
  pair(first, run);
}

/** @param {Run} a @param {Run} b */
export function pair(a, b) {
  const seam = board.mode.value === "seam", now = board.lists.value;
  const id = freshName(seam ? now.seam_pairs : now.curve_pairs, seam ? "seam" : "curve"), name = T.pairName(bare(a), bare(b));
  board.held.value = null;
  board.change((l) => (seam ? { ...l, seam_pairs: [...l.seam_pairs, { id, name, a: [a], b: [b] }] } : { ...l, curve_pairs: [...l.curve_pairs, { id, name, a, b }] }), T.labels.pair);
  board.open.value = id;
}

/** @param {{ id: string, side: "a" | "b" }} to @param {Run} run */
function addTo(to, run) {
  board.adding.value = null;
  const s = board.lists.value.seam_pairs.find((x) => x.id === to.id);
  if (!s || [...s.a, ...s.b].some((r) => same(r, run))) return say(T.twice);
  changeSeam(to.id, { [to.side]: [...s[to.side], run] });
}

/** @param {string} id @param {Partial<SeamPair>} change */
export const changeSeam = (id, change) => board.change((l) => ({ ...l, seam_pairs: l.seam_pairs.map((s) => (s.id === id ? { ...s, ...change } : s)) }), T.labels.change);

/** @param {string} id */
export const removePair = (id) => board.change((l) => ({ ...l, seam_pairs: l.seam_pairs.filter((s) => s.id !== id), curve_pairs: l.curve_pairs.filter((s) => s.id !== id), measures: l.measures.filter((m) => m.id !== id) }), T.labels.remove);

/** Walks one side of a seam the other way: its edges in the other order, each turned. @param {Run[]} runs @returns {Run[]} */
export const turned = (runs) => [...runs].reverse().map(({ reverse, ...r }) => (reverse ? r : { ...r, reverse: true }));
