// Edges, marks and what the service drew of them, over the photo.

import { pointAt } from "../../geom/arc.js";
import { chainPath } from "../../geom/ring.js";
import { toPixel } from "../../geom/viewport.js";
import { spans } from "../../model/edges.js";
import { marksDrawn } from "../../model/marks.js";
import { step } from "../../state/app.js";
import { draft, stale, trouble } from "../../state/draft.js";
import * as ed from "../../state/editor.js";
import { html } from "../html.js";

/** @import {Point} from "../../types" */

/** Whether the step shows what becomes of the outline. */
export const planned = () => step.value !== "photo" && step.value !== "outline";

/** Cut line, stitch line and folds as the service drew them last. */
export function DraftLines() {
  const d = draft.value;
  if (!d || !planned()) return null;
  return html`<g class=${`draft ${stale.value ? "stale" : ""}`}>
    <path class="rim stitch" d=${d.stitch} /><path class="stitch" d=${d.stitch} />
    ${d.folds && html`<path class="rim fold" d=${d.folds} /><path class="fold" d=${d.folds} />`}
    <path class="rim cut" d=${d.cut} /><path class="cut" d=${d.cut} />
    ${d.marks && html`<path class="rim mark-line" d=${d.marks} /><path class="mark-line" d=${d.marks} />`}
  </g>`;
}

/** Each edge by itself: the chosen one stands out, one to blame as well; little bars where they meet. */
export function EdgeLines() {
  const doc = ed.doc.value;
  if (!doc || step.value !== "edges") return null;
  const all = spans(doc), bad = trouble.value?.edge;
  return html`${all.map((s) => (s.edge.id === ed.edgeId.value || s.edge.id === bad
    ? html`<path key=${s.edge.id} class=${s.edge.id === bad ? "blamed-line" : "chosen-line"} d=${chainPath(s.chain)} />` : null))}
    <path class="rim meet" d=${all.map((s) => dot(s.chain[0].a)).join("")} /><path class="meet" d=${all.map((s) => dot(s.chain[0].a)).join("")} />
    ${ed.spot.value && html`<path class="rim spot" d=${dot(ed.spot.value.at)} /><path class="spot" d=${dot(ed.spot.value.at)} />`}`;
}

/** @param {Point} p */
const dot = (p) => `M${p.x} ${p.y}h0`;

/** How far inside the outline an edge's number stands; outside where another number is nearer than that. */
const INSIDE_PX = 20, APART_PX = 25;

/** The edges' numbers, as in the list. */
export function EdgeNumbers() {
  const doc = ed.doc.value, v = ed.viewport.value;
  if (!doc || step.value !== "edges") return null;
  /** @type {{ x: number, y: number }[]} */
  const taken = [];
  return spans(doc).map((s, i) => {
    const p = pointAt(s.chain, 0.5), q = toPixel(v, p), a = toPixel(v, pointAt(s.chain, 0.48)), b = toPixel(v, pointAt(s.chain, 0.52));
    const dx = b.x - a.x, dy = b.y - a.y, k = INSIDE_PX / Math.max(Math.hypot(dx, dy), 1e-6);
    const places = [1, -1].map((side) => ({ x: q.x + side * dy * k, y: q.y - side * dx * k }));
    const at = places.find((c) => taken.every((t) => Math.hypot(t.x - c.x, t.y - c.y) > APART_PX)) ?? places[0];
    taken.push(at);
    const on = s.edge.id === ed.edgeId.value, asks = doc.means === "cut-edge" && s.edge.finish.kind !== "keep" && s.edge.finish.kind !== "fold" && s.edge.old.is === "unknown";
    return html`<g key=${s.edge.id} class=${`edge-number ${on ? "on" : ""} ${asks ? "asks" : ""}`} transform=${`translate(${at.x} ${at.y})`}><circle r="12" /><text dy="4.500">${i + 1}</text></g>`;
  });
}

/** Where marks can be held; the chosen one stands out, and the one that is being drawn. */
export function MarkGrips() {
  const doc = ed.doc.value;
  if (!doc || step.value !== "marks") return null;
  const drawn = marksDrawn(doc), id = ed.markId.value;
  /** @param {boolean} on */
  const grips = (on) => drawn.filter((m) => (m.mark.id === id) === on).flatMap((m) => m.points).map(dot).join("");
  const chains = drawn.filter((m) => m.points.length > 1 && (m.mark.id === id || !draft.value)).map((m) => m.points.map((p, i) => `${i ? "L" : "M"}${p.x} ${p.y}`).join("")).join("");
  const begun = ed.placing.value?.points[0], ghost = ed.ghost.value;
  return html`${chains && html`<path class="rim mark-line" d=${chains} /><path class="mark-line" d=${chains} />`}
    <path class="rim grip" d=${grips(false)} /><path class="grip" d=${grips(false)} />
    ${id && html`<path class="knot-halo" d=${grips(true)} /><path class="rim grip on" d=${grips(true)} /><path class="grip on" d=${grips(true)} />`}
    ${begun && html`<path class="rim mark-line" d=${`M${begun.x} ${begun.y}L${(ghost ?? begun).x} ${(ghost ?? begun).y}`} /><path class="mark-line" d=${`M${begun.x} ${begun.y}L${(ghost ?? begun).x} ${(ghost ?? begun).y}`} /><path class="grip on" d=${dot(begun)} />`}`;
}

/** How long its heads are: they show beside the grips. */
const HEAD_PX = 17;

/** The grain line that the marks give, as an arrow with two heads. */
export function GrainMark() {
  const doc = ed.doc.value;
  const m = doc?.marks.find((x) => x.kind === "grain" && x.points?.length === 2);
  const [a, b] = m?.points ?? [];
  if (!a || !b || step.value !== "marks") return null;
  const l = Math.max(Math.hypot(b.x - a.x, b.y - a.y), 1e-6), ux = (b.x - a.x) / l, uy = (b.y - a.y) / l, h = Math.min(l / 4, HEAD_PX / ed.viewport.value.scale);
  /** @param {Point} p @param {number} s */
  const head = (p, s) => `M${p.x + s * h * ux - 0.6 * h * uy} ${p.y + s * h * uy + 0.6 * h * ux}L${p.x} ${p.y}L${p.x + s * h * ux + 0.6 * h * uy} ${p.y + s * h * uy - 0.6 * h * ux}`;
  const d = `M${a.x} ${a.y}L${b.x} ${b.y}${head(a, 1)}${head(b, -1)}`;
  return html`<path class="rim mark-line" d=${d} /><path class="mark-line" d=${d} />`;
}

/** Texts where they will be printed. */
export function MarkTexts() {
  const doc = ed.doc.value, v = ed.viewport.value;
  if (!doc || step.value !== "marks") return null;
  return doc.marks.filter((m) => m.kind === "text" && m.points?.length).map((m) => {
    const q = toPixel(v, /** @type {Point[]} */ (m.points)[0]);
    return html`<g key=${m.id} class="grain-label mark-text" transform=${`translate(${q.x} ${q.y - 16})`}><text>${m.text}</text></g>`;
  });
}
