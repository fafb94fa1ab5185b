// Drawing an outline on the cloth: by mouse and finger corner by corner, or by keys and
// numbers alone.

import { useLayoutEffect, useRef } from "preact/hooks";
import * as O from "../../state/outlining.js";
import { texts } from "../../texts.js";
import { html } from "../html.js";
import { Icon } from "../icons.js";
import { LengthField, len } from "../lengths.js";

/** @import {Point} from "../../types" */
/** @import {View} from "./Table.js" */

const T = texts.lay;
/** How near to a side a corner is put onto it, px. */
const NEAR = 9;
const ARROWS = /** @type {Record<string, [number, number]>} */ ({ ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] });

/** Where an event points to on the cloth. @param {any} e @param {View} v @returns {Point} */
function place(e, v) {
  const svg = /** @type {SVGSVGElement} */ (e.currentTarget.ownerSVGElement ?? e.currentTarget);
  const p = new DOMPoint(e.clientX, e.clientY).matrixTransform(svg.getScreenCTM()?.inverse());
  return v.down ? { x: p.y, y: p.x } : { x: p.x, y: v.width - p.y };
}

/** What is drawn over the cloth and the pieces. @param {{ v: View }} props */
export function Outline({ v }) {
  const d = O.drawn.value, w = v.down ? v.width : v.length, h = v.down ? v.length : v.width, pad = 26 * v.unit;
  if (!d) return null;
  const at = d.points.map(v.to), path = at.map((p, i) => `${i ? "L" : "M"}${p.x.toFixed(1)} ${p.y.toFixed(1)}`).join("") + (at.length > 2 ? "Z" : "");
  return html`<g class="drawn">
    <rect class="drawn-ground" x=${-pad} y=${-pad} width=${w + 2 * pad} height=${h + 2 * pad} onClick=${(/** @type {any} */ e) => O.add(place(e, v), NEAR * v.unit)} />
    <path class=${`drawn-line ${O.wrong.value === "crossed" ? "bad" : ""}`} d=${path} />
    ${at.map((p, i) => html`<${Corner} key=${i} i=${i} x=${p.x} y=${p.y} on=${i === d.at} v=${v} />`)}</g>`;
}

/** @param {{ i: number, x: number, y: number, on: boolean, v: View }} props */
function Corner({ i, x, y, on, v }) {
  const p = O.drawn.value?.points[i], el = useRef(/** @type {SVGGElement | null} */ (null)), held = useRef(false);
  useLayoutEffect(() => { // a finger on a corner must not scroll the page
    const stop = (/** @type {TouchEvent} */ e) => { if (e.touches.length === 1) e.preventDefault(); };
    el.current?.addEventListener("touchstart", stop, { passive: false });
    return () => el.current?.removeEventListener("touchstart", stop);
  }, []);
  if (!p) return null;
  /** @param {KeyboardEvent} e */
  const key = (e) => {
    const a = ARROWS[e.key], mm = e.shiftKey ? 10 : 1;
    if (a) O.move(i, v.down ? { x: p.x + a[1] * mm, y: p.y + a[0] * mm } : { x: p.x + a[0] * mm, y: p.y - a[1] * mm });
    else if (e.key === "Delete" || e.key === "Backspace") O.remove(i);
    else if (e.key === "Enter") O.done();
    else if (e.key === "Escape") O.cancel();
    else return;
    e.preventDefault();
  };
  /** @param {any} e */
  const down = (e) => { if (e.button > 0) return; held.current = true; O.choose(i); e.currentTarget.setPointerCapture(e.pointerId); };
  return html`<g ref=${el} class=${`drawn-corner ${on ? "chosen" : ""}`} tabindex="0" role="button" aria-pressed=${on} aria-label=${T.cornerAt(i + 1, len(p.x), len(p.y))}
    onPointerDown=${down} onPointerMove=${(/** @type {any} */ e) => held.current && O.move(i, place(e, v), NEAR * v.unit)} onPointerUp=${() => { held.current = false; }} onPointerCancel=${() => { held.current = false; }}
    onKeyDown=${key} onFocus=${() => O.choose(i)} onClick=${(/** @type {Event} */ e) => e.stopPropagation()}>
    <circle class="drawn-grip" cx=${x} cy=${y} r=${20 * v.unit} /><circle class="drawn-dot" cx=${x} cy=${y} r=${6.5 * v.unit} /></g>`;
}

/** What goes with it: how it is done, the chosen corner in numbers, and an end. */
export function OutlineBar() {
  const d = O.drawn.value;
  if (!d) return null;
  const p = d.points[d.at], bad = O.wrong.value;
  return html`<div class="slip drawn-bar" role="group" aria-label=${T.drawOf[d.what]}>
    <p><strong>${T.drawOf[d.what]}</strong> ${T.drawHow}</p>
    ${p && html`<div class="drawn-numbers"><${LengthField} key=${`x${d.at}`} label=${T.cornerX(d.at + 1)} value=${p.x} least=${0} most=${50000} change=${(/** @type {number} */ x) => O.move(d.at, { x, y: p.y })} />
      <${LengthField} key=${`y${d.at}`} label=${T.flawY} value=${p.y} least=${0} most=${O.width()} change=${(/** @type {number} */ y) => O.move(d.at, { x: p.x, y })} /></div>`}
    <p class="flag" role="status">${bad === "crossed" ? T.drawCrossed : ""}</p>
    <span class="row"><button type="button" class="main" disabled=${Boolean(bad)} onClick=${O.done}>${T.drawDone}</button>
      <button type="button" onClick=${() => O.add()}><${Icon} name="plus" />${T.cornerAdd}</button>
      ${p && html`<button type="button" onClick=${() => O.remove(d.at)}><${Icon} name="bin" />${T.cornerRemove}</button>`}
      <button type="button" onClick=${O.cancel}>${texts.cancel}</button></span></div>`;
}
