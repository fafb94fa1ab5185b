// Names that an edge may have, from where it lies and what it looks like: guesses
// in the trade's words, most likely first.

import { chainLength } from "../geom/arc.js";
import { sample } from "../geom/cubic.js";
import { bounds } from "../geom/ring.js";
import { distance } from "../geom/vec.js";
import { spans } from "./edges.js";
import { grainOf } from "./marks.js";

/** @import {Doc, Point} from "../types" */

/**
 * @typedef {"hem" | "waist" | "neck" | "shoulder" | "armhole" | "side" | "inside" | "crotch" | "cap" | "sleeve" | "cuff" | "front" | "back" | "top" | "pocket" | "yoke" | "collar" | "dart"} NameKey
 */

/** Deeper than this part of its chord, an edge is a curve; deeper than the second, a hollow like a neck. */
const BENT = 0.05, HOLLOW = 0.18;

/** @param {Doc} doc @param {string} id @returns {NameKey[]} */
export function suggest(doc, id) {
  const all = spans(doc), span = all.find((s) => s.edge.id === id);
  if (!span) return [];
  const a = span.chain[0].a, d = span.chain[span.chain.length - 1].d, chord = Math.max(distance(a, d), 1e-6);
  const deep = depth(span.chain.flatMap((s) => [...sample(s, 8), s.d]), a, d) / chord, bow = chainLength(span.chain) / chord - 1;
  const b = bounds(doc.rings.slice(0, 1)), size = Math.max(b.maxX - b.minX, b.maxY - b.minY);
  const bent = Math.abs(deep) > BENT || bow > 0.01, hollow = deep < -HOLLOW, full = deep > HOLLOW;
  const up = upright(doc, a, d);
  if (hollow) return ["neck", "armhole", "crotch"];
  if (full && chord > size / 3) return ["cap", "yoke", "hem", "pocket"];
  if (bent && deep < 0) return ["armhole", "neck", "crotch", "waist"];
  if (up === "across") return chord < size / 3 ? ["shoulder", "cuff", "pocket", "yoke"] : ["hem", "waist", "top", "yoke", "pocket"];
  if (up === "along") return chord < size / 3 ? ["shoulder", "dart", "pocket"] : ["side", "inside", "front", "back", "sleeve"];
  return ["shoulder", "side", "armhole", "dart"];
}

/** How far points stand outside (+) or inside (-) the chord of an edge that runs counter-clockwise. @param {Point[]} pts @param {Point} a @param {Point} d */
function depth(pts, a, d) {
  const l = Math.max(distance(a, d), 1e-6), nx = (d.y - a.y) / l, ny = -(d.x - a.x) / l;
  return pts.reduce((most, p) => { const h = (p.x - a.x) * nx + (p.y - a.y) * ny; return Math.abs(h) > Math.abs(most) ? h : most; }, 0);
}

/** Whether a chord runs along or across the grain, or neither. @param {Doc} doc @param {Point} a @param {Point} d */
function upright(doc, a, d) {
  const grain = grainOf(doc) ?? (doc.sure.grain && doc.sure.grain.sure >= 0.3 ? doc.sure.grain.deg : 90);
  const off = Math.abs(((((Math.atan2(d.y - a.y, d.x - a.x) * 180) / Math.PI - grain) % 180) + 180) % 180);
  const lean = Math.min(off, 180 - off);
  return lean < 25 ? "along" : lean > 65 ? "across" : "between";
}

/**
 * Names for all edges that still have the one of their side of the piece; where
 * two would have the same, the side is added.
 * @param {Doc} doc @param {(key: NameKey) => string} word
 * @returns {Map<string, string>} by the id of the edge
 */
export function nameAll(doc, word) {
  const bare = spans(doc).filter((s) => PLACE.test(s.edge.name));
  const names = bare.map((s) => ({ id: s.edge.id, side: s.edge.name.replace(/ \d+$/, ""), name: word(suggest(doc, s.edge.id)[0]) })).filter((n) => n.name);
  const taken = new Set(doc.edges?.map((e) => e.name));
  return new Map(names.flatMap((n) => {
    const same = names.filter((x) => x.name === n.name), beside = same.filter((x) => x.side === n.side);
    const full = [n.name, same.length > 1 && n.side, beside.length > 1 && beside.indexOf(n) + 1].filter(Boolean).join(" ");
    return taken.has(full) ? [] : [[n.id, full]];
  }));
}

/** What the service calls an edge that nobody has named. */
const PLACE = /^(top|bottom|left|right|all round)( \d+)?$/;
