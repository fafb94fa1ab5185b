// Making pairs: one edge, then the other.

import { shared } from "../actions/lengthen.js";
import { readPiece } from "../model/codec.js";
import { freshName } from "../model/edges.js";
import { texts } from "../texts.js";
import { say } from "./app.js";
import * as board from "./board.js";
import * as ed from "./editor.js";
import { pieces } from "./garments.js";

/** @import {Run, SeamPair, WirePiece} from "../types" */

const T = texts.check;

/** What an edge is called. @param {Run} r */
export function edgeName(r) {
  const p = pieces.value.get(r.piece), e = p?.edges?.find((x) => x.id === r.edge);
  return p && e ? `${p.name}, ${e.name}` : T.gone;
}

/** Names of all edges of some pieces, by piece and edge; those that are alike are counted. @param {readonly WirePiece[]} all @returns {Map<string, string>} */
export function edgeNames(all) {
  const named = all.flatMap((p) => (p.edges ?? []).map((e) => ({ key: `${p.id} ${e.id}`, name: `${p.name}, ${e.name}` })));
  return new Map(named.map(({ key, name }) => { const same = named.filter((x) => x.name === name); return [key, same.length > 1 ? `${name} (${same.findIndex((x) => x.key === key) + 1})` : name]; }));
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

/** Changes the outlines on both sides of a seam, or on one, so that they agree. @param {SeamPair} pair @param {number} off what the first side is too long by, mm @param {import("../actions/lengthen.js").Who} who */
export function share(pair, off, who) {
  const here = ed.piece.value?.id, ids = new Set([...pair.a, ...pair.b].map((r) => r.piece));
  const docs = new Map([...ids].flatMap((id) => { const w = pieces.value.get(id), d = id === here ? ed.doc.value : w ? readPiece(w) : null; return d ? [[id, d]] : []; }));
  const outlines = shared(pair, off, who, docs);
  if (outlines?.length) board.reshape(outlines, T.labels.share);
  else say(T.cantShare);
}

/** What a side of a seam is called: by its pieces, or by its edges where both sides have the same ones. @param {SeamPair} pair @param {"a" | "b"} side */
export function sideName(pair, side) {
  const names = (/** @type {Run[]} */ runs) => [...new Set(runs.map((r) => pieces.value.get(r.piece)?.name ?? ""))].join(", ");
  return names(pair.a) === names(pair.b) ? pair[side].map(edgeName).join("; ") : names(pair[side]);
}

/** @param {string} id */
export const removePair = (id) => board.change((l) => ({ ...l, seam_pairs: l.seam_pairs.filter((s) => s.id !== id), curve_pairs: l.curve_pairs.filter((s) => s.id !== id), measures: l.measures.filter((m) => m.id !== id) }), T.labels.remove);

/** Walks one side of a seam the other way: its edges in the other order, each turned. @param {Run[]} runs @returns {Run[]} */
export const turned = (runs) => [...runs].reverse().map(({ reverse, ...r }) => (reverse ? r : { ...r, reverse: true }));
