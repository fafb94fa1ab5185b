// The cloth on the table with the pieces on it, at true proportion: along the screen
// where it is wide, down it where it is high.

import { useEffect, useRef, useState } from "preact/hooks";
import { boxOf } from "../../geom/clash.js";
import { ringOf, topOf } from "../../model/laid.js";
import * as L from "../../state/laying.js";
import * as O from "../../state/outlining.js";
import { texts } from "../../texts.js";
import { html } from "../html.js";
import { len } from "../lengths.js";
import { Outline } from "./Outline.js";

/** @import {Laid, LayPlan, LayShape} from "../../lay" */
/** @import {Point} from "../../types" */

const T = texts.lay;
const ARROWS = /** @type {Record<string, [number, number]>} */ ({ ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1] });

/** @typedef {{ down: boolean, unit: number, length: number, width: number, to: (p: Point) => Point, from: (sx: number, sy: number) => [number, number] }} View down: the length runs down the screen; unit: mm a pixel */

/** @param {readonly Point[]} ring @param {View} v */
const line = (ring, v) => `M${ring.map((p) => { const q = v.to(p); return `${q.x.toFixed(1)} ${q.y.toFixed(1)}`; }).join("L")}Z`;

export function Table() {
  const box = useRef(/** @type {HTMLElement | null} */ (null));
  const [room, setRoom] = useState({ w: 600, h: 500 });
  const longest = useRef({ of: "", mm: 0 });
  useEffect(() => {
    const el = box.current;
    if (!el) return;
    const measure = () => setRoom({ w: Math.max(200, el.clientWidth), h: Math.max(260, Math.round(innerHeight * 0.68)) });
    const seen = new ResizeObserver(measure);
    seen.observe(el);
    return () => seen.disconnect();
  }, []);
  const plan = L.plan.value, shapes = L.shapes.value, pieces = L.pieces.value;
  const rings = pieces.map((l) => { const s = shapes.find((x) => x.id === l.id); return s ? ringOf(s, l) : []; });
  const drawing = O.drawn.value;
  const ends = Math.max(plan?.laid_length_mm ?? 0, ...rings.map((r) => (r.length ? boxOf(r).maxX : 0)), ...(plan?.cloth.remnant_mm ?? []).map(([x]) => x));
  // The picture does not jump while layouts get shorter, or while a piece is dragged.
  const of = `${L.clothId.value} ${plan?.laid_width_mm}`;
  if (longest.current.of !== of || ends < 0.7 * longest.current.mm) longest.current = { of, mm: ends };
  longest.current.mm = Math.max(longest.current.mm, ends);
  // There is room to draw beyond what is there.
  const shown = Math.max((longest.current.mm || 1000) * 1.12, drawing ? 1000 : 0, ...(drawing?.points ?? []).map((p) => p.x * 1.12));
  const v = viewOf(plan?.laid_width_mm || 1400, shown, room);
  const pad = 26 * v.unit, w = v.down ? v.width : v.length, h = v.down ? v.length : v.width;
  return html`<div ref=${box} class="cloth-table">
    <svg class=${`cloth-view ${drawing ? "under-drawing" : ""}`} data-down=${v.down} role="group" aria-label=${T.board} width=${(w + 2 * pad) / v.unit} height=${(h + 2 * pad) / v.unit} viewBox=${`${-pad} ${-pad} ${w + 2 * pad} ${h + 2 * pad}`} focusable="false" onPointerDown=${(/** @type {any} */ e) => { if (e.target === e.currentTarget || e.target.closest(".cloth-ground")) L.chosen.value = -1; }}>
      ${plan && html`<${Ground} plan=${plan} v=${v} ends=${ends} />`}
      ${pieces.map((l, i) => { const s = shapes.find((x) => x.id === l.id); return s && html`<${OnCloth} key=${i} l=${l} i=${i} shape=${s} ring=${rings[i]} v=${v} />`; })}
      ${plan && html`<${Outline} v=${v} />`}
    </svg></div>`;
}

/** @param {number} width @param {number} length @param {{ w: number, h: number }} room @returns {View} */
function viewOf(width, length, room) {
  const margin = 52, across = Math.max(length / (room.w - margin), width / (room.h - margin)), along = Math.max(width / (room.w - margin), length / (1.5 * room.h));
  const down = room.w < 620 && along < across, unit = down ? along : across;
  return {
    down, unit, length, width,
    // Down the screen is the other view turned by a quarter: nothing is mirrored.
    to: down ? (p) => ({ x: p.y, y: p.x }) : (p) => ({ x: p.x, y: width - p.y }),
    from: down ? (sx, sy) => [sy * unit, sx * unit] : (sx, sy) => [sx * unit, -sy * unit],
  };
}

/** The cloth itself. @param {{ plan: LayPlan, v: View, ends: number }} props */
function Ground({ plan, v, ends }) {
  const c = plan.cloth, w = plan.laid_width_mm, size = 13 * v.unit, folded = c.spread === "lengthwise";
  /** @param {readonly (readonly number[])[]} ring */
  const pts = (ring) => ring.map(([x, y]) => ({ x, y }));
  const whole = c.remnant_mm?.length ? pts(c.remnant_mm) : [{ x: 0, y: 0 }, { x: v.length, y: 0 }, { x: v.length, y: w }, { x: 0, y: w }];
  const used = [{ x: 0, y: 0 }, { x: ends, y: 0 }, { x: ends, y: w }, { x: 0, y: w }];
  /** @param {number} x @param {number} y @param {string} text @param {number} out px beyond @param {boolean} upright runs along y of the cloth */
  const label = (x, y, text, out, upright) => {
    const p = v.to({ x, y }), turn = upright !== v.down;
    const at = upright ? (v.down ? { x: p.x, y: p.y + out * v.unit } : { x: p.x + out * v.unit, y: p.y }) : v.down ? { x: p.x + out * v.unit, y: p.y } : { x: p.x, y: p.y - out * v.unit };
    return html`<text class="cloth-word" font-size=${size} x=${at.x} y=${at.y} dominant-baseline="middle" text-anchor="middle" transform=${turn ? `rotate(-90 ${at.x} ${at.y})` : undefined}>${text}</text>`;
  };
  /** @param {number} every @param {number} at @param {number} most */
  const lines = (every, at, most) => (every > 0 && most / every < 400 ? Array.from({ length: Math.floor((most - (at % every)) / every) + 1 }, (_, k) => (at % every) + k * every) : []);
  /** @param {Point} a @param {Point} b */
  const path = (a, b) => { const p = v.to(a), q = v.to(b); return `M${p.x} ${p.y}L${q.x} ${q.y}`; };
  const mid = Math.min(v.length, ends || v.length) / 2, across = c.spread === "crosswise", first = { x: c.stripe_length_mm ?? 0, y: c.stripe_across_mm ?? 0 };
  // Of a folded cloth the lower layer looks out beyond the open sides.
  const peek = 5 * v.unit, under = folded ? [{ x: 0, y: 0 }, { x: v.length, y: 0 }, { x: v.length, y: w + peek }, { x: 0, y: w + peek }] : [{ x: -peek, y: 0 }, { x: ends || v.length, y: 0 }, { x: ends || v.length, y: w }, { x: -peek, y: w }];
  return html`<g class="cloth-ground">
    ${(folded || across) && !c.remnant_mm?.length && html`<path class="cloth-under" d=${line(under, v)} />`}
    <path class="cloth-rest" d=${line(whole, v)} />
    ${ends > 0 && !c.remnant_mm?.length && html`<path class="cloth-used" d=${line(used, v)} />`}
    <path class="cloth-stripe" d=${[...lines(c.repeat_length_mm ?? 0, first.x, v.length).map((x) => path({ x, y: 0 }, { x, y: w })), ...lines(c.repeat_across_mm ?? 0, first.y, w).map((y) => path({ x: 0, y }, { x: v.length, y }))].join("")} />
    <path class="cloth-stripe first" d=${(c.repeat_length_mm ? path({ x: first.x, y: 0 }, { x: first.x, y: w }) : "") + (c.repeat_across_mm ? path({ x: 0, y: first.y }, { x: v.length, y: first.y }) : "")} />
    ${(c.flaws_mm ?? []).map((f, i) => html`<path key=${i} class="cloth-flaw" d=${line(pts(f), v)} />`)}
    <path class=${folded ? "cloth-fold" : "cloth-selvage"} d=${path({ x: 0, y: 0 }, { x: v.length, y: 0 })} />
    <path class="cloth-selvage" d=${path({ x: 0, y: w }, { x: v.length, y: w })} />
    ${label(mid, 0, folded ? T.fold : T.selvage, -14, false)}${label(mid, w, folded ? T.selvages : T.selvage, 14, false)}
    ${label(0, w / 2, across ? T.cutEnds : T.cutEnd, -14, true)}
    ${ends > 0 && html`<path class=${across ? "cloth-fold" : "cloth-end"} d=${path({ x: ends, y: 0 }, { x: ends, y: w })} />`}
    ${ends > 0 && label(ends, w / 2, across ? `${len(Math.round(ends))} · ${T.fold}` : len(Math.round(ends)), 12, true)}
  </g>`;
}

/** What the lines and shades on the cloth mean, as far as they are there. */
export function Legend() {
  const plan = L.plan.value;
  if (!plan || plan.pieces.length === 0) return null;
  const spread = plan.cloth.spread ?? "open", double = spread !== "open", G = T.legend;
  const marks = /** @type {[string, string, boolean][]} */ ([
    ["fold", G.fold, double], ["selvage", G.selvage, true], ["end", G.cut, spread !== "crosswise"],
    ["down", G.down, !double && plan.pieces.some((l) => l.mirrored)], ["reversed", G.round, L.pieces.value.some((l) => isRound(l, L.shapes.value.find((s) => s.id === l.id)))],
  ]);
  return html`${double && html`<p class="quiet">${G.twice(plan.cloth.right_side_out ? T.outside : T.inside)}</p>`}
    <ul class="lay-legend">${marks.map(([kind, text, there]) => there && html`<li key=${kind}><svg class=${`key ${kind}`} width="28" height="14" viewBox="0 0 28 14" aria-hidden="true" focusable="false"><path d=${kind === "down" ? "M1 1H27V13H1Z" : kind === "reversed" ? "M26 7H3M9 2L3 7L9 12" : "M1 7H27"} /></svg>${text}</li>`)}</ul>`;
}

/** Whether a piece lies with its top the other way than it came. @param {Laid} l @param {LayShape | undefined} shape */
export const isRound = (l, shape) => Boolean(shape?.turns.length) && Math.cos(((topOf(/** @type {LayShape} */ (shape), l) - topOf(/** @type {LayShape} */ (shape), /** @type {LayShape} */ (shape).turns[0])) * Math.PI) / 180) < -0.5;

/** What is said of how a piece lies. @param {Laid} l */
const how = (l, /** @type {string} */ spread) => (l.at_fold ? T.atFold : l.layers > 1 ? T.both : l.mirrored ? (spread === "open" ? T.mirrored : T.upper) : spread === "open" ? "" : T.upper);

/** Words on a piece are at least so high, in pixels. */
const LEAST_PX = 8.5;

/** A piece on the cloth, to drag and to move by keys. @param {{ l: Laid, i: number, shape: LayShape, ring: readonly Point[], v: View }} props */
function OnCloth({ l, i, shape, ring, v }) {
  const b = boxOf(ring), spread = L.plan.value?.cloth.spread ?? "open", bad = L.troubles.value.some((t) => t.copies?.includes(i));
  const on = L.chosen.value === i, words = /** @type {string[]} */ ([how(l, spread), isRound(l, shape) && T.turnedRound].filter(Boolean)), box = screenBox(b, v);
  const grab = useRef(/** @type {{ id: number, x: number, y: number, from: readonly Laid[], moved: boolean } | null} */ (null));
  const next = useRef(0);
  /** @param {any} e */
  const down = (e) => {
    if (e.button > 0 || L.running.value) return;
    L.chosen.value = i;
    L.met.value = null;
    e.currentTarget.focus({ preventScroll: true });
    e.currentTarget.setPointerCapture(e.pointerId);
    grab.current = { id: e.pointerId, x: e.clientX, y: e.clientY, from: L.plan.value?.pieces ?? [], moved: false };
  };
  /** @param {any} e */
  const move = (e) => {
    const g = grab.current;
    if (!g || g.id !== e.pointerId) return;
    const sx = e.clientX - g.x, sy = e.clientY - g.y;
    if (!g.moved && Math.hypot(sx, sy) < (e.pointerType === "touch" ? 8 : 3)) return;
    g.moved = true;
    cancelAnimationFrame(next.current);
    next.current = requestAnimationFrame(() => { if (grab.current === g) L.drag(g.from, i, ...v.from(sx, sy)); });
  };
  /** @param {any} e */
  const up = (e) => {
    const g = grab.current;
    if (!g || g.id !== e.pointerId) return;
    cancelAnimationFrame(next.current);
    grab.current = null;
    if (!g.moved) return;
    if (e.type === "pointerup") L.drag(g.from, i, ...v.from(e.clientX - g.x, e.clientY - g.y));
    L.drop(e.type === "pointerup");
  };
  /** @param {KeyboardEvent} e */
  const key = (e) => {
    if (e.ctrlKey || e.metaKey) return;
    const a = ARROWS[e.key], k = e.key.toLowerCase(), mm = e.shiftKey ? 10 : e.altKey ? 0.1 : 1;
    if (a) L.nudge(i, ...v.from((a[0] * mm) / v.unit, (-a[1] * mm) / v.unit));
    else if (k === "r" || k === "f") L.turn(i, k === "f");
    else if (k === "p") L.pin(i);
    else if (e.key === "Escape") L.chosen.value = -1;
    else return;
    e.preventDefault();
  };
  const c = v.to({ x: (b.minX + b.maxX) / 2, y: (b.minY + b.maxY) / 2 }), size = Math.max(LEAST_PX * v.unit, Math.min(15 * v.unit, (1.5 * box.w) / Math.max(l.name.length, 4), box.h / 3));
  // Each word has a line to itself; one too small to read is left to the shade and the arrow, which say the same.
  const wordSize = Math.min(12 * v.unit, size, (1.6 * box.w) / Math.max(4, ...words.map((w) => w.length)), box.h / (2.5 + words.length));
  return html`<g class=${`on-cloth ${on ? "chosen" : ""} ${bad ? "bad" : ""} ${l.fixed ? "fixed" : ""} ${l.mirrored && spread === "open" ? "turned-over" : ""}`} tabindex="0" role="button" aria-pressed=${on}
    aria-label=${T.pieceAt(l.name, [...words, l.fixed && T.pinned].filter(Boolean).join(", "), len(Math.max(0, b.minX)), len(Math.max(0, b.minY)))}
    onTouchStart=${held} onPointerDown=${down} onPointerMove=${move} onPointerUp=${up} onPointerCancel=${up} onKeyDown=${key} onFocus=${() => { if (L.chosen.value !== i && !L.running.value) { L.chosen.value = i; L.met.value = null; } }}>
    <path class="piece-shape" d=${line(ring, v)} />
    <path class="piece-grain" d=${arrow(ring, topOf(shape, l), v)} />
    <text class="piece-name" font-size=${size} x=${c.x} y=${c.y - size * 0.35} text-anchor="middle">${`${l.name} `}</text>
    ${wordSize >= LEAST_PX * v.unit && words.map((w, k) => html`<text key=${w} class="piece-word" font-size=${wordSize} x=${c.x} y=${c.y + size * 0.35 + (k + 0.75) * wordSize * 1.15} text-anchor="middle">${w}</text>`)}
    ${l.fixed && html`<circle class="piece-pin" cx=${c.x} cy=${c.y - size * 2} r=${5 * v.unit} />`}
  </g>`;
}

/** A finger on a piece must not scroll the page: browsers do not heed touch-action inside a drawing. @param {TouchEvent} e */
const held = (e) => { if (e.touches.length === 1) e.preventDefault(); };

/** @param {import("../../geom/clash.js").Box} b @param {View} v */
const screenBox = (b, v) => (v.down ? { w: b.maxY - b.minY, h: b.maxX - b.minX } : { w: b.maxX - b.minX, h: b.maxY - b.minY });

/** The grain line through the middle, with its head at the top of the piece. @param {readonly Point[]} ring @param {number} deg @param {View} v */
function arrow(ring, deg, v) {
  const b = boxOf(ring), a = (deg * Math.PI) / 180, ux = Math.cos(a), uy = Math.sin(a), m = { x: (b.minX + b.maxX) / 2, y: (b.minY + b.maxY) / 2 };
  // Where the line through the middle leaves the piece, on both sides.
  let back = -Infinity, ahead = Infinity;
  ring.forEach((p, i) => {
    const q = ring[(i + 1) % ring.length], s0 = (p.y - m.y) * ux - (p.x - m.x) * uy, s1 = (q.y - m.y) * ux - (q.x - m.x) * uy;
    if (s0 > 0 === s1 > 0) return;
    const f = s0 / (s0 - s1), t = (p.x + f * (q.x - p.x) - m.x) * ux + (p.y + f * (q.y - p.y) - m.y) * uy;
    if (t < 0) back = Math.max(back, t);
    else ahead = Math.min(ahead, t);
  });
  if (!Number.isFinite(back) || !Number.isFinite(ahead)) return "";
  const from = back * 0.75, to = ahead * 0.75, h = Math.min(7 * v.unit, (to - from) / 4);
  const p = (/** @type {number} */ t, /** @type {number} */ s) => { const q = v.to({ x: m.x + t * ux - s * uy, y: m.y + t * uy + s * ux }); return `${q.x.toFixed(1)} ${q.y.toFixed(1)}`; };
  return `M${p(from, 0)}L${p(to, 0)}M${p(to - h, h * 0.6)}L${p(to, 0)}L${p(to - h, -h * 0.6)}`;
}
