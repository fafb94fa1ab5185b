// What is drawn over the photo, in plane millimetres. Line widths and dots stay
// the same on the screen at any zoom: dots are lines of no length with wide ends,
// so that a zoom changes one matrix and an edit one path.

import { computed } from "@preact/signals";
import { along, chainPath, measure, ringParts, ringPath } from "../../geom/ring.js";
import { at } from "../../geom/cubic.js";
import { toPixel } from "../../geom/viewport.js";
import * as ed from "../../state/editor.js";
import { SHAKY, texts } from "../../texts.js";
import { html } from "../html.js";
import { agreed } from "./Bench.js";

/** @import {Knot, Point, Stroke} from "../../types" */

/** A path twice: a light rim below, so that it shows on any cloth. @param {string} d @param {string} cls */
const rimmed = (d, cls) => (d === "" ? null : html`<path class=${`rim ${cls}`} d=${d} /><path class=${cls} d=${d} />`);

export function Outline() {
  const rings = ed.rings.value, before = ed.dragging.value ? ed.settled.value?.rings : null;
  if (!before || before.length !== rings.length) return rimmed(rings.map(ringPath).join(""), "outline");
  const parts = rings.map((r, i) => ringParts(r, before[i])), still = parts.map((p) => p.still).join(""), moving = parts.map((p) => p.moving).join("");
  return html`<path class="rim outline" d=${still} /><path class="rim outline" d=${moving} /><path class="outline" d=${still} /><path class="outline" d=${moving} />`;
}

/** The grain as a quiet arrow with two heads through the middle of the piece: a direction, not a line to cut. */
export function GrainArrow() {
  const grain = ed.doc.value?.sure.grain, ring = ed.rings.value[0];
  if (!grain || !ring) return null;
  const { centre: c, area } = measure(ring), half = Math.sqrt(Math.abs(area)) / 5, head = half / 6;
  const turn = (grain.deg * Math.PI) / 180, ux = Math.cos(turn), uy = Math.sin(turn);
  /** @param {number} along @param {number} across */
  const p = (along, across) => `${c.x + along * ux - across * uy} ${c.y + along * uy + across * ux}`;
  const end = (/** @type {number} */ s) => `M${p(s * (half - head), head * 0.7)}L${p(s * half, 0)}L${p(s * (half - head), -head * 0.7)}`;
  return rimmed(`M${p(-half, 0)}L${p(half, 0)}${end(1)}${end(-1)}`, `grain${grain.sure < SHAKY ? " shaky" : ""}`);
}

/** What is said about it, beside it. */
export function GrainLabel() {
  const grain = ed.doc.value?.sure.grain, ring = ed.rings.value[0];
  if (!grain || !ring) return null;
  const q = toPixel(ed.viewport.value, measure(ring).centre), words = texts.editor.grainShort(grain.sure), w = words.length * 6.6 + 14;
  // Beside the arrow, which it would hide on a small screen: below a level one, to the right of an upright one.
  const level = Math.abs(Math.cos((grain.deg * Math.PI) / 180)) > Math.SQRT1_2;
  return html`<g class="grain-label" transform=${`translate(${q.x + (level ? 0 : w / 2 + 14)} ${q.y + (level ? 25 : 0)})`}><rect x=${-w / 2} y="-11" width=${w} height="22" rx="5" /><text dy="4">${words}</text></g>`;
}

/** The doubtful stretches as chains along the outline; they need not follow every move of a drag. */
const doubtful = computed(() => (ed.settled.value?.sure.unsure ?? []).map((s) => along(ed.settled.value?.rings ?? [], s)));

export function Unsure() {
  const d = doubtful.value.map(chainPath).join("");
  return d === "" ? null : html`<path class="unsure-under" d=${d} /><path class="unsure" d=${d} />`;
}

/** How far the numbers stand from the outline. */
const LABEL_PX = 26;

/** Their numbers, as in the list beside. */
export function UnsureLabels() {
  const v = ed.viewport.value;
  return doubtful.value.map((chain, i) => {
    const s = chain[Math.floor(chain.length / 2)];
    if (!s) return null;
    const t = chain.length % 2 ? 0.5 : 0, q = toPixel(v, at(s, t)), ahead = toPixel(v, at(s, t + 0.05));
    // To the right of the way, which is outside the cloth: outlines run counter-clockwise, holes clockwise.
    const dx = ahead.x - q.x, dy = ahead.y - q.y, k = LABEL_PX / Math.max(Math.hypot(dx, dy), 1e-6);
    return html`<g key=${i} class="unsure-label" transform=${`translate(${q.x - dy * k} ${q.y + dx * k})`}><path d="M0 -12L12 0 0 12 -12 0z" /><text dy="4">${i + 1}</text></g>`;
  });
}

/** @param {readonly Point[]} points */
const dots = (points) => points.map((p) => `M${p.x} ${p.y}h0`).join("");

/** A knot as a dot, kept while it stays the same object: of two hundred one moves. @type {WeakMap<Knot, string>} */
const drawn = new WeakMap();

/** @param {Knot} k */
function knotDot(k) {
  let d = drawn.get(k);
  if (d === undefined) drawn.set(k, (d = dots([k.at])));
  return d;
}

export function Knots() {
  const ids = ed.selection.value;
  let square = "", round = "", heldSquare = "", heldRound = "";
  for (const ring of ed.rings.value)
    for (const k of ring) {
      if (!ids.has(k.id)) k.corner ? (square += knotDot(k)) : (round += knotDot(k));
      else if (k.corner) heldSquare += knotDot(k);
      else heldRound += knotDot(k);
    }
  const held = heldSquare + heldRound;
  return html`
    ${rimmed(square, "knot square")}
    ${rimmed(round, "knot round")}
    ${held && html`<path class="knot-halo" d=${held} />`}
    ${rimmed(heldSquare, "knot square held")}
    ${rimmed(heldRound, "knot round held")}`;
}

export function Handles() {
  /** @param {Knot} k */
  const ends = (k) => [k.in, k.out].filter((h) => h !== null);
  const knots = ed.selected.value;
  const arms = knots.map((k) => ends(k).map((h) => `M${k.at.x} ${k.at.y}L${h.x} ${h.y}`).join("")).join("");
  const tips = dots(knots.flatMap(ends));
  return html`${rimmed(arms, "arm")}${rimmed(tips, "tip")}`;
}

/** @param {readonly Point[]} points */
const track = (points) => (points.length === 1 ? dots(points) : points.map((p, i) => `${i ? "L" : "M"}${p.x} ${p.y}`).join(""));

/** @param {{ stroke: Stroke }} props */
const Paint = ({ stroke: s }) => html`<g class=${`paint ${s.kind}`}>
  <path class="paint-body" d=${track(s.points)} stroke-width=${s.width} />
  <path class="paint-line" d=${track(s.points)} />
</g>`;

/** Strokes show while a brush is in hand. */
export function Strokes() {
  const wet = ed.wet.value, tool = ed.toolName.value;
  if (tool !== "cloth" && tool !== "not-cloth") return null;
  return html`${(ed.doc.value?.strokes ?? []).map((s, i) => html`<${Paint} key=${i} stroke=${s} />`)}${wet && html`<${Paint} stroke=${wet} />`}`;
}

/** Where a point would be added. */
export function Ghost() {
  const p = ed.ghost.value;
  return p && rimmed(dots([p]), "knot round ghost");
}

/** The brush's size under the mouse. */
export function Brush() {
  const p = ed.brushAt.value;
  return p && html`<circle class="brush-ring" cx=${p.x} cy=${p.y} r=${ed.brushWidth.value / 2} />`;
}

/** The lines that the dragged point agrees with. */
export function Guides() {
  const a = ed.agrees.value;
  return a && rimmed(a.on.filter((g) => !g.off).map((g) => `M${g.at.x} ${g.at.y}L${a.at.x} ${a.at.y}`).join(""), "guide");
}

/** What it agrees with, beside it. */
export function GuideLabel() {
  const a = ed.agrees.value, v = ed.viewport.value;
  if (!a) return null;
  const words = agreed(), w = words.length * 6.8 + 18, q = toPixel(v, a.at), x = Math.min(Math.max(q.x, w / 2 + 4), v.width - w / 2 - 4);
  return html`<g class="grain-label snap-why" transform=${`translate(${x} ${q.y < 60 ? q.y + 44 : q.y - 34})`}><rect x=${-w / 2} y="-13" width=${w} height="26" rx="5" /><text dy="5">${words}</text></g>`;
}
