// A photo in which the person points out things of known size, with a loupe: by
// mouse, by finger, or by keys.

import { useEffect, useRef } from "preact/hooks";
import { imageURL } from "../api.js";
import { idle, reduce } from "../gestures/pointer.js";
import { KINDS, MOST, POINTS } from "../model/known.js";
import { helpOpen, paletteOpen } from "../state/app.js";
import * as known from "../state/known.js";
import { texts } from "../texts.js";
import { Trouble } from "./App.js";
import { html } from "./html.js";
import { Icon } from "./icons.js";

/** @import {KnownKind, Pixel, Viewport} from "../types" */

const T = texts.known;
const LOUPE_PX = 136, LOUPE_FACTOR = 3;

/** @param {{ id: string }} props */
export function Known({ id }) {
  useEffect(() => {
    void known.open(id);
    document.title = `${T.title} – ${texts.product}`;
    return known.close;
  }, [id]);
  const photo = known.photo.value, trouble = known.trouble.value;
  if (!photo) return html`<main class="page" tabindex="-1"><a class="back" href="#/"><${Icon} name="back" />${texts.garment.back}</a>
    ${trouble ? html`<${Trouble} ...${trouble} />` : html`<p>${texts.loading}</p>`}</main>`;
  return html`<main class="editor alone" tabindex="-1">
    <header class="editor-top">
      <a class="button plain" href=${`#/garment/${photo.garment_id}`} aria-label=${texts.editor.back} title=${texts.editor.back}><${Icon} name="back" /></a>
      <h1>${T.title}</h1>
      <button type="button" class="plain" aria-label=${texts.help.open} title=${texts.help.open} onClick=${() => (helpOpen.value = true)}><${Icon} name="help" /></button>
    </header>
    <div class="table">
      <div class="why"><p>${T.how} <strong>${T.rough}</strong></p><${Kinds} /></div>
      <div class="field"><${Pointing} /></div>
      <${Offer} />
    </div>
  </main>`;
}

const Kinds = () => html`<div class="row kinds">
  <label class="inline">${T.what}<select value=${known.kind.value} onChange=${(/** @type {any} */ e) => known.choose(e.currentTarget.value)}>
    ${KINDS.map((k) => html`<option key=${k} value=${k} selected=${k === known.kind.value}>${T.kind[k]}</option>`)}</select></label>
  ${known.others.value.map((o, i) => html`<button type="button" key=${i} onClick=${() => known.drop(i)}><${Icon} name="bin" />${T.drop(T.kind[o.kind])}</button>`)}
</div>`;

/** What comes next, and the buttons. */
function Offer() {
  const n = known.points.value.length, k = known.kind.value, whole = known.whole.value, ready = known.corners.value !== null, busy = known.busy.value;
  const hint = !whole ? T.hint[k === "bank-card" ? "card" : "sheet"](n) : ready ? T.whole : T.crossed;
  return html`<div class="bench">
    <div class="offer" role="status"><span class=${`what ${whole && !ready ? "flag" : ""}`}>${whole && !ready && html`<${Icon} name="warning" />`}<span>${hint}</span></span></div>
    <div class="tools four">
      <button type="button" disabled=${n === 0} onClick=${known.back}><${Icon} name="undo" /><span>${T.back}</span></button>
      <button type="button" aria-label=${texts.known.closer} onClick=${() => known.zoom(1.6)}><${Icon} name="plus" /><span>${T.closer}</span></button>
      <button type="button" disabled=${!ready || known.others.value.length >= MOST - 1} onClick=${known.another}><${Icon} name="add" /><span>${T.another}</span></button>
      <button type="button" class="main" disabled=${busy || (!ready && !(n === 0 && known.others.value.length))} onClick=${known.trace}><${Icon} name="check" /><span>${T.trace}</span></button>
    </div>
  </div>`;
}

/** The photo to point on. */
function Pointing() {
  const box = useRef(/** @type {HTMLDivElement | null} */ (null));
  const fingers = useRef(idle);
  useSizeAndWheel(box);
  useKeys();
  /** @param {"down" | "move" | "up" | "cancel"} type */
  const on = (type) => (/** @type {PointerEvent} */ e) => {
    const el = /** @type {HTMLElement} */ (e.currentTarget), r = el.getBoundingClientRect();
    if (type === "down") {
      if (e.button > 1) return;
      if (e.isTrusted) el.setPointerCapture(e.pointerId);
      el.focus({ preventScroll: true });
    }
    const [next, gestures] = reduce(fingers.current, {
      type, id: e.pointerId, at: { x: e.clientX - r.left, y: e.clientY - r.top }, pointer: e.pointerType || "mouse", time: e.timeStamp, pan: e.button === 1, extend: false,
    });
    fingers.current = next;
    gestures.forEach(known.act);
  };
  return html`<div ref=${box} class="canvas with-add pointing" tabindex="0" role="application" aria-label=${T.canvas} aria-describedby="pointing-help"
      onPointerDown=${on("down")} onPointerMove=${on("move")} onPointerUp=${on("up")} onPointerCancel=${on("cancel")} onContextMenu=${(/** @type {Event} */ e) => e.preventDefault()}>
    <${Scene} view=${known.view.value} />
    <${Loupe} />
    <span id="pointing-help" class="sr">${T.canvasHelp}</span>
    <span class="sr" role="status">${known.held.value >= 0 ? T.point(known.held.value + 1, POINTS[known.kind.value]) : ""}</span>
  </div>`;
}

/** @param {readonly Pixel[]} points @param {Viewport} v */
const ring = (points, v) => points.map((p, i) => { const q = known.toCanvas(p, v); return `${i ? "L" : "M"}${q.x} ${q.y}`; }).join("");

/** Photo and points as seen through the canvas or the loupe. @param {{ view: Viewport }} props */
function Scene({ view: v }) {
  const photo = known.photo.value;
  if (!photo || v.width === 0) return null;
  const o = known.toCanvas({ x: -0.5, y: -0.5 }, v), kind = known.kind.value, points = known.points.value, corners = known.corners.value;
  return html`<img class="backdrop" src=${imageURL(photo.id)} alt="" draggable="false" width=${photo.width} height=${photo.height} style=${{ transform: `translate(${o.x}px, ${o.y}px) scale(${v.scale})` }} />
    <svg class="overlay known" width=${v.width} height=${v.height} aria-hidden="true" focusable="false">
      ${known.others.value.map((t, i) => html`<path key=${i} class="known-edge" d=${edges(t.kind, t.points, v)} />`)}
      ${corners && html`<path class="known-face" d=${`${ring(corners, v)}z`} />`}
      <path class="known-rim" d=${edges(kind, points, v)} /><path class="known-edge" d=${edges(kind, points, v)} />
      ${points.map((p, i) => { const q = known.toCanvas(p, v); return html`<g key=${i} class=${`known-point ${i === known.held.value ? "held" : ""}`} transform=${`translate(${q.x} ${q.y})`}><circle r="9" /><path d="M-4 0h8M0 -4v8" /></g>`; })}
    </svg>`;
}

/** Lines between the corners, or along each edge of a card. @param {KnownKind} kind @param {readonly Pixel[]} points @param {Viewport} v */
const edges = (kind, points, v) => (kind === "bank-card"
  ? points.map((_, i) => (i % 2 ? ring(points.slice(i - 1, i + 1), v) : "")).join("")
  : `${ring(points, v)}${points.length === 4 ? "z" : ""}`);

/** What lies under pointer, finger or cross, enlarged. */
function Loupe() {
  const p = known.at.value, v = known.view.value;
  if (!p) return null;
  const q = known.toCanvas(p), scale = v.scale * LOUPE_FACTOR;
  const view = { scale, left: p.x - LOUPE_PX / 2 / scale, top: -p.y + LOUPE_PX / 2 / scale, width: LOUPE_PX, height: LOUPE_PX };
  const away = q.x < v.width / 2 && q.y < LOUPE_PX * 1.6;
  return html`<div class="known-cross" style=${{ transform: `translate(${q.x}px, ${q.y}px)` }}></div>
    <div class=${`loupe known-loupe ${away ? "right" : "left"}`}><${Scene} view=${view} /></div>`;
}

/** @param {{ current: HTMLElement | null }} box */
function useSizeAndWheel(box) {
  useEffect(() => {
    const el = /** @type {HTMLElement} */ (box.current);
    known.view.value = { ...known.view.value, width: 0, height: 0 };
    const observer = new ResizeObserver(() => { if (el.clientWidth && el.clientHeight) known.size(el.clientWidth, el.clientHeight); });
    observer.observe(el);
    /** @param {WheelEvent} e */
    const onWheel = (e) => {
      e.preventDefault();
      const r = el.getBoundingClientRect();
      known.zoom(Math.exp(-Math.max(-250, Math.min(250, e.deltaY)) * (e.ctrlKey ? 0.01 : 0.0015)), { x: e.clientX - r.left, y: e.clientY - r.top });
    };
    el.addEventListener("wheel", onWheel, { passive: false });
    return () => { observer.disconnect(); el.removeEventListener("wheel", onWheel); };
  }, []);
}

/** @type {Record<string, (e: KeyboardEvent) => void>} */
const KEYS = {
  ArrowLeft: (e) => known.nudge(-1, 0, e), ArrowRight: (e) => known.nudge(1, 0, e), ArrowUp: (e) => known.nudge(0, -1, e), ArrowDown: (e) => known.nudge(0, 1, e),
  Enter: known.enter, n: () => known.walk(1), b: () => known.walk(-1), Backspace: known.back, Delete: known.back,
  Escape: () => { known.held.value = -1; }, "+": () => known.zoom(1.25), "=": () => known.zoom(1.25), "-": () => known.zoom(0.8), 0: known.showAll,
};

/** Keys work on the photo, and where nothing else has the focus. */
function useKeys() {
  useEffect(() => {
    /** @param {KeyboardEvent} e */
    const onKey = (e) => {
      const el = /** @type {HTMLElement} */ (e.target), does = KEYS[e.key.length === 1 ? e.key.toLowerCase() : e.key];
      if (!does || e.ctrlKey || e.metaKey || helpOpen.value || paletteOpen.value || !(el === document.body || el.closest(".canvas, main:focus"))) return;
      e.preventDefault();
      does(e);
    };
    addEventListener("keydown", onKey);
    return () => removeEventListener("keydown", onKey);
  }, []);
}
