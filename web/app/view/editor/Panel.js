// What is known about the piece, and its points as a list: beside the photo on a
// wide screen, a sheet from below on a narrow one.

import { useRef, useState } from "preact/hooks";
import { showPoints } from "../../commands.js";
import { doubtText, number, percentText, sentence } from "../../format.js";
import { bounds } from "../../geom/ring.js";
import { readPoint } from "../../model/codec.js";
import { go } from "../../state/app.js";
import * as ed from "../../state/editor.js";
import { noticed } from "../../state/noticed.js";
import { remove, traceOf } from "../../state/session.js";
import { texts } from "../../texts.js";
import { html } from "../html.js";
import { Icon } from "../icons.js";
import { len } from "../lengths.js";
import { Exact } from "./Exact.js";
import { NextStep } from "./StepBar.js";
import { SeenChoice } from "./Seen.js";
import { Smoothness } from "./Smoothness.js";
import { Versions } from "./Versions.js";

/** @import {Card, Doc, Finding, Knot} from "../../types" */

const T = texts.editor;
/** The side that is measured on each card, between its checker points, in millimetres. */
const CARD_MM = 64;

/**
 * The panel of a step. As a sheet it lies below on a narrow screen and is pulled up.
 * @param {{ sheet: boolean, children?: any }} props
 */
export function Panel({ sheet, children }) {
  const open = ed.panelOpen.value, doc = ed.settled.value;
  if (!doc) return null;
  return html`<aside class=${`panel ${sheet ? "sheet" : ""} ${open ? "open" : ""}`} aria-label=${T.panel}>
    ${sheet && html`<button type="button" class="pull" aria-expanded=${open} onClick=${() => (ed.panelOpen.value = !open)}>
      <${Icon} name=${open ? "next" : "up"} /><span>${open ? T.panelClose : T.panel}</span>
      ${!open && html`<span class="quiet">${T.sureShort(doubtText(doc.sure.uncertainty))}</span>`}
    </button>`}
    <div class="panel-body" tabindex="-1">${children}<${NextStep} /></div>
  </aside>`;
}

export function PhotoPanel() {
  const doc = ed.settled.value;
  return doc && html`${ed.piece.value && !ed.piece.value.photo_id && html`<p>${T.noPhoto}</p>`}<${Sure} doc=${doc} /><${CardsFound} />${ed.photo.value && html`<${PhotoLook} />`}<${Versions} />
    <button type="button" class="plain" onClick=${removePiece}><${Icon} name="bin" />${T.removePiece}</button>`;
}

export function OutlinePanel() {
  const doc = ed.settled.value;
  return doc && html`<section><${Doubts} doc=${doc} /></section><${Smoothness} /><${Exact} />${ed.photo.value && html`<${PhotoLook} />`}<${Points} doc=${doc} />`;
}

async function removePiece() {
  const p = ed.piece.value;
  if (p && confirm(T.removePieceAsk(ed.name.value)) && (await remove())) go(`#/garment/${p.garment_id}`);
}

/** On a narrow screen the sheet would cover what is to be seen. @param {readonly { x: number, y: number }[]} points */
function lookAt(points) {
  ed.panelOpen.value = false;
  showPoints(points);
}

/** @param {{ doc: Doc }} props */
function Sure({ doc }) {
  const trace = traceOf(doc), cal = trace?.calibration, b = bounds(doc.rings);
  const pct = cal?.print_uncertainty_pct ?? 0, span = Math.max(b.maxX - b.minX, b.maxY - b.minY);
  const read = ed.photo.value?.print && !ed.photo.value.print_changed;
  const edited = (ed.history.value?.past.length ?? 0) > 0 || (ed.piece.value?.version ?? 1) > 1;
  const findings = noticed.value;
  return html`<section aria-labelledby="sure-title">
    <h2 id="sure-title">${T.sureTitle}</h2>
    <p class="lead">${(read ? T.sureRead : T.sure)(doubtText(doc.sure.uncertainty))}</p>
    ${pct > 0 && html`<p>${(read ? T.printRead : T.print)(percentText(pct), doubtText((span * pct) / 100))}</p>`}
    ${doc.sure.fray >= 0.1 && html`<p>${T.fray(len(doc.sure.fray))}</p>`}
    ${doc.sure.grain && html`<p>${T.grain(Math.round(doc.sure.grain.deg), doc.sure.grain.sure)}</p>`}
    ${edited && html`<p class="quiet">${T.edited}</p>`}
    <${Doubts} doc=${doc} />
    <h3>${T.findings}</h3>
    ${findings.length === 0 ? html`<p class="quiet">${T.noFindings}</p>` : html`<ul class="findings">${findings.map((f, i) => html`<li key=${i}><${One} finding=${f} number=${f.where_mm ? i + 1 : 0} /></li>`)}</ul>`}
  </section>`;
}

/** The doubtful stretches as a list. @param {{ doc: Doc }} props */
const Doubts = ({ doc }) => html`<h3>${T.unsureTitle(doc.sure.unsure.length)}</h3>
  ${doc.sure.unsure.length > 0 && html`<p class="quiet dashed-key">${T.unsureHow}</p>
    <ol class="stretches">${doc.sure.unsure.map((s, i) => html`<li key=${i}><button type="button" onClick=${() => lookAt([s.from, s.to])}>
      <span class="badge">${i + 1}</span><span>${sentence(s.why)}</span></button></li>`)}</ol>`}`;

/** @param {{ finding: Finding, number?: number }} props number under which it stands on the photo */
export function One({ finding: f, number: n = 0 }) {
  const where = f.where_mm ? readPoint(f.where_mm) : null;
  return html`<div class=${`note ${f.severity}`}><${Icon} name=${f.severity} /><div>
    <span class="sr">${T.severity[f.severity]}: </span>${n > 0 && html`<span class="badge">${n}</span> `}<strong>${f.message}</strong>${f.remedy && html`<p>${f.remedy}</p>`}
    ${where && html`<button type="button" onClick=${() => lookAt([where])}>${T.show}</button>`}
  </div></div>`;
}

function CardsFound() {
  const cards = ed.photo.value?.trace?.calibration.cards ?? [];
  if (cards.length === 0) return null;
  /** @param {Card} c */
  const off = (c) => `${c.measured_mm >= CARD_MM ? "+" : "−"}${number(Math.abs(c.measured_mm - CARD_MM), 2)}`;
  return html`<details><summary><h2>${T.cardsTitle}</h2></summary>
    <p class="quiet">${T.cardsHow}</p>
    <table><thead><tr><th scope="col">${T.card}</th><th scope="col">${T.measured}</th><th scope="col">${T.off}</th><th scope="col">${T.use}</th></tr></thead>
      <tbody>${cards.map((c) => html`<tr key=${c.id} class=${c.used ? "" : "unused"}><th scope="row">${c.id}</th><td>${number(c.measured_mm, 2)} mm</td><td>${off(c)}</td>
        <td>${c.used ? html`<${Icon} name="check" />${T.used}` : html`<${Icon} name="warning" />${T.unused}${c.why && html`<span class="quiet">: ${c.why}</span>`}`}</td></tr>`)}</tbody></table>
    <label class="inline"><input type="checkbox" checked=${ed.showCards.value} onChange=${(/** @type {any} */ e) => (ed.showCards.value = e.currentTarget.checked)} />${T.showCards}</label>
  </details>`;
}

const PhotoLook = () => html`<section><h2>${T.photoTitle}</h2>
  <label class="slide">${T.strength}
    <input type="range" min="0" max="100" step="5" value=${ed.strength.value} onInput=${(/** @type {any} */ e) => (ed.strength.value = +e.currentTarget.value)} />
    <output>${ed.strength.value} %</output></label><${SeenChoice} /></section>`;

/** @param {{ doc: Doc }} props */
function Points({ doc }) {
  const [open, setOpen] = useState(false);
  const count = doc.rings.flat().length;
  return html`<details class="points" open=${open} onToggle=${(/** @type {any} */ e) => setOpen(e.currentTarget.open)}><summary><h2>${T.pointsTitle(count)}</h2></summary>
    ${open && html`<${PointList} doc=${doc} />`}</details>`;
}

/** All points as a list that is one stop of the Tab key; the arrow keys go along it. @param {{ doc: Doc }} props */
function PointList({ doc }) {
  const list = useRef(/** @type {HTMLElement | null} */ (null));
  const all = doc.rings.flatMap((ring, r) => ring.map((k, i) => ({ k, i, r })));
  const ids = ed.selection.value, stop = all.find(({ k }) => ids.has(k.id))?.k.id ?? all[0]?.k.id;
  /** @param {KeyboardEvent} e */
  const onKey = (e) => {
    const way = e.key === "ArrowDown" ? 1 : e.key === "ArrowUp" ? -1 : 0;
    const items = [...(list.current?.querySelectorAll("button") ?? [])];
    const at = items.indexOf(/** @type {HTMLButtonElement} */ (document.activeElement));
    if (e.key === "Enter") focusCanvas();
    else if (way && at >= 0) items[(at + way + items.length) % items.length].focus();
    else return;
    e.preventDefault();
  };
  /** @param {Knot} k */
  const pick = (k) => { if (!ids.has(k.id) || ids.size > 1) ed.select([k.id]); };
  return html`<p class="quiet">${T.pointsHow}</p>
    <ol ref=${list} onKeyDown=${onKey}>${all.map(({ k, i, r }) => html`<li key=${k.id}>
      <button type="button" tabindex=${k.id === stop ? 0 : -1} aria-pressed=${ids.has(k.id)} onFocus=${() => pick(k)} onClick=${() => { pick(k); lookAt([k.at]); }}>
        <span>${r > 0 ? `${T.holeN(r)}, ` : ""}${i + 1}</span><span class=${`shape ${k.corner ? "square" : "round"}`}>${k.corner ? T.corner : T.smooth}</span>
        <span class="quiet">${number(k.at.x, 1)}, ${number(k.at.y, 1)}</span></button></li>`)}</ol>`;
}

const focusCanvas = () => /** @type {HTMLElement | null} */ (document.querySelector(".canvas"))?.focus();
