// What the tape says, and the tape over the photo.

import { setEdges } from "../../actions/setEdge.js";
import { chainLength } from "../../geom/arc.js";
import { part, sample, segment } from "../../geom/cubic.js";
import { distance } from "../../geom/vec.js";
import { toPixel } from "../../geom/viewport.js";
import { step } from "../../state/app.js";
import * as ed from "../../state/editor.js";
import { texts } from "../../texts.js";
import { take } from "../../tools/index.js";
import { html } from "../html.js";
import { len } from "../lengths.js";

/** @import {Place, Point, Ring, Segment, Snap} from "../../types" */

const T = texts.tape;

/** The shorter way along a ring between two places. @param {Ring} ring @param {Place} p @param {Place} q @returns {Segment[]} */
function way(ring, p, q) {
  /** @param {Place} a @param {Place} b */
  const go = (a, b) => {
    const i = ring.findIndex((k) => k.id === a.id), j = ring.findIndex((k) => k.id === b.id), n = ring.length;
    if (i < 0 || j < 0) return [];
    if (i === j && b.t >= a.t) return [part(segment(ring, i), a.t, b.t)];
    const out = [part(segment(ring, i), a.t, 1)];
    for (let k = (i + 1) % n; k !== j; k = (k + 1) % n) out.push(segment(ring, k));
    if (b.t > 0) out.push(part(segment(ring, j), 0, b.t));
    return out;
  };
  const there = go(p, q), back = go(q, p);
  return chainLength(there) <= chainLength(back) ? there : back;
}

/** How far a chain stands away from its chord, at most. @param {Segment[]} chain */
function depth(chain) {
  const a = chain[0].a, d = chain[chain.length - 1].d, l = Math.max(distance(a, d), 1e-6);
  return Math.max(0, ...chain.flatMap((s) => sample(s, 32)).map((p) => Math.abs((p.x - a.x) * (d.y - a.y) - (p.y - a.y) * (d.x - a.x)) / l));
}

/** @param {Snap} from @param {Snap} to */
function read(from, to) {
  const straight = distance(from.at, to.at), same = from.place && to.place && from.place.ring === to.place.ring;
  const chain = same && from.place && to.place ? way(ed.rings.value[from.place.ring], from.place, to.place) : [];
  return { straight, along: chain.length > 0 ? chainLength(chain) : null, deep: chain.length > 0 ? depth(chain) : 0 };
}

export function TapeOffer() {
  const t = ed.tape.value;
  if (!t?.to) return html`<div class="offer"><span class="what quiet">${t ? T.from : texts.editor.hint.measure}</span>${step.value !== "outline" && step.value !== "photo" && html`<${Done} />`}</div>`;
  const { straight, along, deep } = read(t.from, t.to), e = ed.edge.value;
  const snapped = T.snapped[t.to.to];
  return html`<div class="offer" role="status">
    <span class="what"><strong>${len(straight)}</strong><span class="quiet">${T.straight}${snapped && `, ${snapped}`}</span></span>
    ${along !== null && along - straight > 0.05 && html`<span class="what"><strong>${len(along)}</strong><span class="quiet">${T.along}, ${T.deep} ${len(deep)}</span></span>`}
    ${step.value === "edges" && e && straight > 0.1 && straight <= 300 && html`<button type="button" class="main" onClick=${() => { ed.perform(setEdges(new Set([e.id]), { old: { is: "length", mm: Math.round(straight * 10) / 10 } }), texts.editor.labels.edgeOld); take("edge"); }}>${T.useOn(e.name)}</button>`}
    ${step.value !== "outline" && step.value !== "photo" && html`<${Done} />`}
  </div>`;
}

const Done = () => html`<button type="button" onClick=${() => take(step.value === "marks" ? "mark" : "edge")}>${texts.close}</button>`;

/** The tape between its two ends. */
export function TapeLine() {
  const t = ed.tape.value;
  if (!t) return null;
  const end = (/** @type {Point} */ p) => `M${p.x} ${p.y}h0`;
  return html`${t.to && html`<path class="rim tape" d=${`M${t.from.at.x} ${t.from.at.y}L${t.to.at.x} ${t.to.at.y}`} /><path class="tape" d=${`M${t.from.at.x} ${t.from.at.y}L${t.to.at.x} ${t.to.at.y}`} />`}
    <path class="rim tape-end" d=${end(t.from.at) + (t.to ? end(t.to.at) : "")} /><path class="tape-end" d=${end(t.from.at) + (t.to ? end(t.to.at) : "")} />`;
}

/** The length in the middle of the tape. */
export function TapeLabel() {
  const t = ed.tape.value;
  if (!t?.to) return null;
  const v = ed.viewport.value, a = toPixel(v, t.from.at), b = toPixel(v, t.to.at), words = len(distance(t.from.at, t.to.at)), w = words.length * 7.5 + 16;
  return html`<g class="grain-label tape-label" transform=${`translate(${(a.x + b.x) / 2} ${(a.y + b.y) / 2 - 18})`}><rect x=${-w / 2} y="-12" width=${w} height="24" rx="5" /><text dy="5">${words}</text></g>`;
}
