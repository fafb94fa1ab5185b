// The photo with the outline over it. The photo is one picture that the browser
// moves and scales as a whole; only the drawing over it changes with an edit.

import { useEffect, useRef, useState } from "preact/hooks";
import { resizeView } from "../../commands.js";
import { matrix, toPixel, zoom } from "../../geom/viewport.js";
import * as api from "../../api.js";
import { say, step } from "../../state/app.js";
import * as ed from "../../state/editor.js";
import { texts } from "../../texts.js";
import { feed } from "../../tools/index.js";
import { html } from "../html.js";
import { Cards, CardLabels } from "./Cards.js";
import { Brush, Ghost, GrainArrow, GrainLabel, GuideLabel, Guides, Handles, Knots, Outline, Strokes, Unsure, UnsureLabels } from "./layers.js";
import { DraftLines, EdgeLines, EdgeNumbers, GrainMark, MarkGrips, MarkTexts, planned } from "./planLayers.js";
import { ScaleBar } from "./ScaleBar.js";
import { SeenLayer } from "./Seen.js";
import { StretchLayer } from "./StretchOffer.js";
import { TapeLabel, TapeLine } from "./TapeOffer.js";

/** @import {Viewport} from "../../types" */

const T = texts.editor;
const LOUPE_PX = 132, LOUPE_FACTOR = 2.5;

/** @param {{ label?: string, help?: string }} props what it is called, and how it is used without a pointer */
export function Canvas({ label = T.canvas, help = T.canvasHelp }) {
  const box = useRef(/** @type {HTMLDivElement | null} */ (null));
  const hand = useHand();
  useSize(box);
  useWheel(box);
  /** @param {"down" | "move" | "up" | "cancel"} type */
  const on = (type) => (/** @type {PointerEvent} */ e) => pointer(type, e, hand.current);
  return html`<div ref=${box} class=${`canvas with-${ed.toolName.value}`} tabindex="0" role="application" aria-label=${label} aria-describedby="canvas-help"
      onPointerDown=${on("down")} onPointerMove=${on("move")} onPointerUp=${on("up")} onPointerCancel=${on("cancel")}
      onPointerLeave=${() => { ed.brushAt.value = null; ed.ghost.value = null; }} onContextMenu=${(/** @type {Event} */ e) => e.preventDefault()}>
    <${Scene} main=${true} />
    <${Loupe} />
    <${ScaleBar} />
    <span id="canvas-help" class="sr">${help}</span>
    <${Spoken} />
  </div>`;
}

/** What a screen reader says about the selection. */
function Spoken() {
  const p = ed.still.value, doc = ed.settled.value;
  const many = ed.selection.value.size > 1 ? T.pointsN(ed.selection.value.size) : "";
  const text = !p || !doc ? many : `${T.pointN(p.index + 1, doc.rings[p.ring].length)}, ${p.knot.corner ? T.corner : T.smooth}`;
  return html`<span class="sr" role="status">${text}</span>`;
}

/** Where the canvas lay when a pointer went down: asking anew at each move would have the page laid out between two edits. @type {DOMRect | null} */
let lay = null;

/** @param {"down" | "move" | "up" | "cancel"} type @param {PointerEvent} e @param {boolean} hand */
function pointer(type, e, hand) {
  const el = /** @type {HTMLElement} */ (e.currentTarget), r = type === "move" && lay ? lay : el.getBoundingClientRect();
  lay = type === "down" || (type === "move" && lay) ? r : null;
  if (type === "down") {
    if (e.button > 1) return;
    if (e.button === 1) e.preventDefault();
    if (e.isTrusted) el.setPointerCapture(e.pointerId);
    el.focus({ preventScroll: true });
  }
  feed({ type, id: e.pointerId, at: { x: e.clientX - r.left, y: e.clientY - r.top }, pointer: e.pointerType || "mouse", time: e.timeStamp, pan: e.button === 1 || hand, extend: e.shiftKey, free: e.altKey });
}

/** Whether the space bar is held, so that a drag moves the view. */
function useHand() {
  const hand = useRef(false);
  useEffect(() => {
    /** @param {KeyboardEvent} e */
    const set = (e) => {
      const at = /** @type {HTMLElement} */ (e.target);
      if (e.key !== " " || !(at === document.body || at.closest(".canvas"))) return;
      hand.current = e.type === "keydown";
      e.preventDefault();
    };
    addEventListener("keydown", set);
    addEventListener("keyup", set);
    return () => { removeEventListener("keydown", set); removeEventListener("keyup", set); };
  }, []);
  return hand;
}

/** Keeps the viewport at the canvas's size, and shows the whole piece until somebody looks closer. @param {{ current: HTMLElement | null }} box */
function useSize(box) {
  useEffect(() => {
    const el = box.current;
    if (!el) return;
    ed.viewport.value = { ...ed.viewport.value, width: 0, height: 0 };
    const observer = new ResizeObserver(() => {
      if (el.clientWidth && el.clientHeight) resizeView(el.clientWidth, el.clientHeight);
    });
    observer.observe(el);
    return () => observer.disconnect();
  }, []);
}

/** Zooms about the pointer; the listener must not be passive, so it is set by hand. @param {{ current: HTMLElement | null }} box */
function useWheel(box) {
  useEffect(() => {
    const el = box.current;
    /** @param {WheelEvent} e */
    const onWheel = (e) => {
      e.preventDefault();
      const r = /** @type {HTMLElement} */ (el).getBoundingClientRect();
      const lines = e.deltaMode === 1 ? 30 : e.deltaMode === 2 ? 300 : 1;
      // A pinch on a touch pad arrives as a wheel with Ctrl and small steps.
      const k = e.ctrlKey ? 0.01 : 0.0015;
      ed.viewport.value = zoom(ed.viewport.value, { x: e.clientX - r.left, y: e.clientY - r.top }, Math.exp(-Math.max(-250, Math.min(250, e.deltaY * lines)) * k));
    };
    el?.addEventListener("wheel", onWheel, { passive: false });
    return () => el?.removeEventListener("wheel", onWheel);
  }, []);
}

/** How large a corner is shown beside its edge's form, in pixels, and its scale in pixels per mm. */
const NEAR_PX = 144, NEAR_SCALE = 2.4;

/** A place on the photo with all that is drawn there, enlarged; `px` wide and high. @param {{ at: { x: number, y: number }, px?: number, scale?: number }} props */
export function Near({ at, px = NEAR_PX, scale = NEAR_SCALE }) {
  const view = { scale, left: at.x - px / 2 / scale, top: at.y + px / 2 / scale, width: px, height: px };
  return html`<span class="near-view" style=${{ width: `${px}px`, height: `${px}px` }}><${Scene} view=${view} /></span>`;
}

/** Photo and drawing as seen through the canvas or, with its own view, the loupe. @param {{ main?: boolean, view?: Viewport }} props */
function Scene({ main = false, view }) {
  const v = view ?? ed.viewport.value;
  if (v.width === 0) return null;
  const at = step.value, outline = !planned(), photo = main && at === "photo";
  const guess = main && ed.photo.value !== null && (photo || (at === "marks" && !ed.doc.value?.marks.some((m) => m.kind === "grain")));
  return html`<${Backdrop} view=${v} main=${main} />
    <svg class=${`overlay at-${at}`} width=${v.width} height=${v.height} aria-hidden="true" focusable="false">
      <g transform=${matrix(v)}>
        ${photo && html`<${Cards} />`}
        ${guess && html`<${GrainArrow} />`}
        <${Strokes} />
        ${outline && html`<${SeenLayer} />`}
        <${Outline} />
        <${DraftLines} />
        <${EdgeLines} />
        ${outline && html`<${Unsure} />`}
        ${main && html`<${StretchLayer} />`}
        ${(at === "outline" || ed.toolName.value === "measure") && html`<${Handles} /><${Knots} />`}
        <${Guides} />
        <${GrainMark} /><${MarkGrips} />
        <${TapeLine} />
        ${main && html`<${Ghost} /><${Brush} />`}
      </g>
      ${photo && html`<${CardLabels} />`}${guess && html`<${GrainLabel} />`}${main && outline && html`<${UnsureLabels} />`}
      ${main && html`<${GuideLabel} /><${EdgeNumbers} /><${MarkTexts} /><${TapeLabel} />`}
    </svg>`;
}

/** The straightened photo. @param {{ view: Viewport, main: boolean }} props */
function Backdrop({ view, main }) {
  const photo = ed.photo.value, plane = photo?.plane;
  const [missing, setMissing] = useState(false);
  if (!photo || !plane || missing) return null;
  const half = 0.5 / plane.px_per_mm;
  const q = toPixel(view, { x: plane.origin_mm[0] - half, y: plane.origin_mm[1] + half });
  const style = {
    transform: `translate(${q.x}px, ${q.y}px) scale(${view.scale / plane.px_per_mm})`,
    opacity: ed.strength.value / 100,
  };
  return html`<img class="backdrop" src=${api.planeURL(photo.id)} alt="" draggable="false" width=${plane.width} height=${plane.height} style=${style}
    onError=${() => { setMissing(true); if (main) say(T.noPlane); }} />`;
}

/** What the finger covers, enlarged, on the side where the finger is not. */
function Loupe() {
  const at = ed.loupe.value;
  if (!at) return null;
  const v = ed.viewport.value, q = toPixel(v, at), scale = v.scale * LOUPE_FACTOR;
  const view = { scale, left: at.x - LOUPE_PX / 2 / scale, top: at.y + LOUPE_PX / 2 / scale, width: LOUPE_PX, height: LOUPE_PX };
  const away = q.x < v.width / 2 && q.y < LOUPE_PX * 1.6;
  return html`<div class=${`loupe ${away ? "right" : "left"}`}><${Scene} view=${view} /></div>`;
}
