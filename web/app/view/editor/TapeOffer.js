// What the tape says, and the tape over the photo.

import { setEdges } from "../../actions/setEdge.js";
import { chainLength } from "../../geom/arc.js";
import { part, sample, segment } from "../../geom/cubic.js";
import { distance, sub } from "../../geom/vec.js";
import { toPixel } from "../../geom/viewport.js";
import { run } from "../../commands.js";
import { number } from "../../format.js";
import { grainOf } from "../../model/marks.js";
import { step } from "../../state/app.js";
import * as ed from "../../state/editor.js";
import { texts } from "../../texts.js";
import { take } from "../../tools/index.js";
import { html } from "../html.js";
import { Icon } from "../icons.js";
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

/** The angle at the second of three places, degrees. @param {readonly Snap[]} t */
function angleOf([p, q, r]) {
  const a = sub(p.at, q.at), b = sub(r.at, q.at), deg = (Math.abs(Math.atan2(a.x * b.y - a.y * b.x, a.x * b.x + a.y * b.y)) * 180) / Math.PI;
  return `${number(deg, 1)}°`;
}

/** How a tape lies to the grain, where that is known. @param {Point} p @param {Point} q */
function toGrain(p, q) {
  const deg = ed.doc.value && grainOf(ed.doc.value);
  if (deg === null) return "";
  const off = Math.abs((((Math.atan2(q.y - p.y, q.x - p.x) * 180) / Math.PI - deg + 450) % 180) - 90);
  return T.offGrain(number(Math.abs(off), 1));
}

/** Lengths or angles, and the way back where the tape was asked for. */
const Ways = () => html`<button type="button" aria-pressed=${ed.angle.value} onClick=${() => run("angle")}><${Icon} name="angle" />${T.short}</button>${step.value !== "outline" && step.value !== "photo" && html`<${Done} />`}`;

export function TapeOffer() {
  const t = ed.tape.value, [from, to] = t, angle = ed.angle.value;
  if (angle && t.length === 3) return html`<div class="offer tape-offer" role="status"><span class="what"><strong>${angleOf(t)}</strong><span class="quiet">${T.between}</span></span><${Ways} /></div>`;
  if (angle || !to) return html`<div class="offer tape-offer"><span class="what quiet" role="status">${angle ? T.arms[t.length] : from ? T.from : texts.editor.hint.measure}</span><${Ways} /></div>`;
  const { straight, along, deep } = read(from, to), e = ed.edge.value;
  const how = [T.straight, T.snapped[to.to], straight > 0.1 && toGrain(from.at, to.at)].filter(Boolean).join(", ");
  return html`<div class="offer tape-offer" role="status"><div class="whats">
    <span class="what"><strong>${len(straight)}</strong><span class="quiet">${how}</span></span>
    ${along !== null && along - straight > 0.05 && html`<span class="what"><strong>${len(along)}</strong><span class="quiet">${T.along}, ${T.deep} ${len(deep)}</span></span>`}</div>
    ${step.value === "edges" && e && straight > 0.1 && straight <= 300 && html`<button type="button" class="main" onClick=${() => { ed.perform(setEdges(new Set([e.id]), { old: { is: "length", mm: Math.round(straight * 10) / 10 } }), texts.editor.labels.edgeOld); take("edge"); }}>${T.useOn(e.name)}</button>`}
    <${Ways} />
  </div>`;
}

const Done = () => html`<button type="button" onClick=${() => take(step.value === "marks" ? "mark" : "edge")}>${texts.close}</button>`;

/** The tape between its two ends. */
export function TapeLine() {
  const pts = ed.tape.value.map((s) => s.at);
  if (pts.length === 0) return null;
  const line = pts.map((p, i) => `${i ? "L" : "M"}${p.x} ${p.y}`).join(""), ends = pts.map((p) => `M${p.x} ${p.y}h0`).join("");
  return html`${pts.length > 1 && html`<path class="rim tape" d=${line} /><path class="tape" d=${line} />`}<path class="rim tape-end" d=${ends} /><path class="tape-end" d=${ends} />`;
}

/** The length in the middle of the tape. */
export function TapeLabel() {
  const t = ed.tape.value;
  if (t.length < 2 || (ed.angle.value && t.length < 3)) return null;
  const v = ed.viewport.value, three = t.length === 3, a = toPixel(v, t[three ? 1 : 0].at), b = toPixel(v, t[1].at), words = three ? angleOf(t) : len(distance(t[0].at, t[1].at)), w = words.length * 7.5 + 16;
  return html`<g class="grain-label tape-label" transform=${`translate(${(a.x + b.x) / 2} ${(a.y + b.y) / 2 - 18})`}><rect x=${-w / 2} y="-12" width=${w} height="24" rx="5" /><text dy="5">${words}</text></g>`;
}
