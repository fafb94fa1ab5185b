// What a chosen stretch is made like, with how it would look before it is done.

import { computed, effect, signal } from "@preact/signals";
import { borrowed, letOff, symmetric, twin, wobble, wobbleOfRest } from "../actions/shape.js";
import { chainOf, fair, knotsOf } from "../actions/stretch.js";
import { chainLength, pointAt } from "../geom/arc.js";
import { at } from "../geom/cubic.js";
import { nearestOn } from "../geom/nearest.js";
import { add, distance, lerp, sub, unit } from "../geom/vec.js";
import { readPiece } from "../model/codec.js";
import { spans } from "../model/edges.js";
import { formatLength } from "../model/length.js";
import { grainOf } from "../model/marks.js";
import { texts } from "../texts.js";
import { unit as inUnit } from "./app.js";
import * as ed from "./editor.js";
import * as store from "./garments.js";

/** @import {Action, Doc, Point, Segment} from "../types" */
/** @import {Axis, Keep} from "../actions/shape.js" */
/** @import {Ends} from "../actions/stretch.js" */

const len = (/** @type {number} */ mm) => formatLength(mm, inUnit.value).replace(" ", "\u00a0");
const T = texts.stretch, L = texts.editor.labels;

/** @typedef {{ kind: "mirror" | "borrow" | "match", of: string, keep: Keep, mirrored: boolean, stay: boolean }} Shaping `of` is an axis, an edge, or empty */

export const shaping = signal(/** @type {Shaping | null} */ (null));
/** Points of an axis that is being picked. */
export const picked = signal(/** @type {readonly Point[]} */ ([]));

effect(() => { if (!ed.ends.value) [shaping.value, picked.value] = [null, []]; });

/** @param {Shaping["kind"]} kind */
export const begin = (kind) => { shaping.value = { kind, of: kind === "mirror" ? "across" : kind === "borrow" ? sources.value[0]?.id ?? "" : "", keep: "mean", mirrored: true, stay: true }; };

/** @param {Partial<Shaping>} change */
export const change = (change) => { if (shaping.value) shaping.value = { ...shaping.value, ...change }; };

/** @param {Point} p @param {Point} q @returns {Axis | null} */
const through = (p, q) => { const dir = unit(sub(q, p)); return dir && { at: p, dir }; };

/** @typedef {{ id: string, name: string, axis: Axis | null }} Line */

/** The lines that a stretch can be made symmetric about. */
export const axes = computed(() => {
  const doc = ed.doc.value, e = ed.ends.value, knots = doc && e ? knotsOf(doc, e) : [];
  if (!doc || knots.length < 2) return [];
  const a = knots[0].at, d = knots[knots.length - 1].at, m = lerp(a, d, 0.5), v = sub(d, a), deg = grainOf(doc);
  /** @type {Line[]} */
  const out = [{ id: "across", name: T.across, axis: through(m, add(m, { x: -v.y, y: v.x })) }];
  if (deg !== null) out.push({ id: "grain", name: T.grain, axis: { at: m, dir: { x: Math.cos((deg * Math.PI) / 180), y: Math.sin((deg * Math.PI) / 180) } } });
  for (const s of spans(doc)) if (s.edge.finish.kind === "fold") out.push({ id: s.edge.id, name: T.fold(s.edge.name), axis: through(s.chain[0].a, s.chain[s.chain.length - 1].d) });
  for (const mark of doc.marks) if (mark.points?.length === 2) out.push({ id: mark.id, name: texts.marks.kinds[mark.kind] + (mark.text ? `, ${mark.text}` : ""), axis: through(mark.points[0], mark.points[1]) });
  const [p, q] = picked.value;
  if (p && q) out.push({ id: "picked", name: T.picked, axis: through(p, q) });
  return out.filter((l) => l.axis);
});

/** Edges of all pieces, those about as long as the stretch first. */
export const sources = computed(() => {
  const doc = ed.settled.value, e = ed.ends.value, here = ed.piece.value?.id, stretch = doc && e ? knotsOf(doc, e) : [];
  if (!doc || stretch.length < 2) return [];
  const chain = chainOf(stretch), want = chainLength(chain), gone = new Set(stretch.slice(0, -1).map((k) => k.id)), all = [...store.pieces.value.values()];
  const docs = all.map((p) => ({ id: p.id, doc: p.id === here ? doc : readPiece(p) }));
  if (!all.some((p) => p.id === here)) docs.push({ id: here ?? "", doc });
  return docs.flatMap(({ id, doc: d }) => spans(d).filter((s) => id !== here || !gone.has(s.edge.knot)).map((s) => ({ id: `${id} ${s.edge.id}`, name: `${d.name}, ${s.edge.name}`, chain: s.chain, off: Math.abs(chainLength(s.chain) - want) })))
    .sort((p, q) => p.off - q.off);
});

/** @typedef {{ action: Action | null, label: string, why: string, next: Doc | null, note: string, axis?: Axis }} Plan */

/** What would be done, how it would look, and why not. */
export const plan = computed(() => {
  const s = shaping.value, e = ed.ends.value, doc = ed.doc.value;
  if (!s || !e || !doc || ed.dragging.value) return null;
  const p = planned(s, e, doc), next = p.action ? p.action(doc) : null;
  if (!next) return { ...p, next };
  return next === doc ? { ...p, next: null, why: p.why || T.nothing } : { ...p, next, why: "", note: [p.note, differs(chainOf(knotsOf(doc, e)), chainOf(knotsOf(next, e)))].filter(Boolean).join(" ") };
});

/** @param {Shaping} s @param {Ends} e @param {Doc} doc @returns {{ action: Action | null, label: string, why: string, note: string, axis?: Axis }} */
function planned(s, e, doc) {
  if (s.kind === "mirror") {
    const axis = axes.value.find((l) => l.id === s.of)?.axis;
    return { action: axis ? symmetric(e, axis, s.keep) : null, label: L.symmetric, why: T.noCross, note: "", ...(axis && { axis }) };
  }
  const from = sources.value.find((x) => x.id === s.of);
  if (s.kind === "borrow") {
    if (!from) return { action: null, label: "", why: T.noEdge, note: "" };
    const knots = knotsOf(doc, e), gap = distance(knots[0].at, knots[knots.length - 1].at), ends = distance(from.chain[0].a, from.chain[from.chain.length - 1].d);
    return { action: borrowed(e, s.mirrored ? twin(from.chain) : from.chain, s.stay), label: L.borrowed, why: T.noFit(len(Math.abs(ends - gap)), ends > gap), note: T.trueLength(len(chainLength(from.chain))) };
  }
  const limit = from ? wobble(from.chain) : wobbleOfRest(doc, e), mm = letOff(doc, e, limit), now = wobble(chainOf(knotsOf(doc, e)));
  return { action: mm === null ? null : fair(e, mm), label: L.fair, why: mm === null ? T.tooRough : now <= limit ? T.smoothAlready : "", note: T.wobbles(now, limit) };
}

/** What changes, in words. @param {Segment[]} was @param {Segment[]} now */
function differs(was, now) {
  const way = Math.max(...Array.from({ length: 41 }, (_, i) => { const p = pointAt(now, i / 40); return Math.min(...was.map((s) => distance(p, at(s, nearestOn(s, p))))); }));
  const more = chainLength(now) - chainLength(was), end = Math.max(distance(was[0].a, now[0].a), distance(was[was.length - 1].d, now[now.length - 1].d));
  const some = (/** @type {number} */ mm) => (mm < 0.05 ? "" : len(mm));
  return T.changes(len(way), some(more), some(-more), some(end));
}

/** Does it. */
export function apply() {
  const p = plan.value;
  if (!p?.action || !p.next) return;
  ed.perform(p.action, p.label);
  shaping.value = null;
}
