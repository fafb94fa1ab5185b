// Paper, what to include, all files, and a picture of what is printed.

import { useEffect, useState } from "preact/hooks";
import { lengthText } from "../../format.js";
import { stepURL } from "../../state/app.js";
import * as ed from "../../state/editor.js";
import { print } from "../../state/printer.js";
import * as p from "../../state/printing.js";
import { download } from "../../state/session.js";
import { todo } from "../../state/todo.js";
import { texts } from "../../texts.js";
import { html } from "../html.js";
import { Icon } from "../icons.js";
import { Choice, TextField, UnitChoice } from "../lengths.js";

const T = texts.printing;

export function PrintPanel() {
  const doc = ed.settled.value, id = ed.piece.value?.id ?? "";
  useEffect(() => p.follow(), []);
  if (!doc) return null;
  const open = todo(doc, id), folded = doc.edges?.some((e) => e.finish.kind === "fold");
  return html`<section aria-labelledby="print-title"><h2 id="print-title" tabindex="-1">${T.title}</h2>
    ${open.length > 0 && html`<div class="note warning"><${Icon} name="warning" /><div><strong>${T.openEnds}</strong><ul>${open.map((t) => html`<li key=${t.text}><a href=${stepURL(id, t.step)}>${t.text}</a></li>`)}</ul></div></div>`}
    <div class="seg" role="radiogroup" aria-label=${T.which}>${/** @type {const} */ (["piece", "garment"]).map((w) => html`<label key=${w}><input type="radio" name="print-what" checked=${p.what.value === w} onChange=${() => (p.what.value = w)} /><span>${w === "piece" ? T.thisPiece : T.allPieces}</span></label>`)}</div>
    <${Choice} label=${T.paper} value=${p.paper.value} options=${p.PAPERS.map((v) => [v, T.papers[v]])} change=${(/** @type {any} */ v) => { p.paper.value = v; p.tiles.value = ""; }} />
    <div class="row"><${UnitChoice} /></div>
    ${folded && html`<label class="inline"><input type="checkbox" checked=${p.unfold.value} onChange=${(/** @type {any} */ e) => (p.unfold.value = e.currentTarget.checked)} />${T.whole}</label>`}
    <${Correct} />
    <p role="status"><strong>${count()}</strong></p>
    ${p.map.value && !p.trouble.value && ed.saveState.value.kind === "saved" && html`<img class="sheet-map" src=${p.map.value} alt=${T.map} />`}
    ${p.trouble.value && html`<div class="note error" role="alert"><${Icon} name="error" /><div><strong>${p.trouble.value.title}</strong><p>${p.trouble.value.remedy}</p></div></div>`}
    <button type="button" class="main wide" onClick=${() => download(p.what.value, p.pdf())}><${Icon} name="down" />${T.get}</button>
    ${!p.LARGE.includes(p.paper.value) && html`<details class="from-list"><summary>${T.some}</summary><p class="quiet">${T.someHow}</p>
      <${TextField} label=${T.tilesTitle} value=${p.tiles.value} placeholder="B2, C1" change=${(/** @type {string} */ v) => (p.tiles.value = v)} /></details>`}
    <ol class="before">${T.before.map((line) => html`<li key=${line}>${line}</li>`)}</ol>
    <p class="quiet">${T.layers}</p>
    <p class="note warning"><span>${T.caution}</span></p>
    <h3>${T.other}</h3><p class="quiet">${T.filesHow}</p>
    <ul class="downloads">${/** @type {const} */ (["svg", "png", "json"]).map((format) => html`<li key=${format}><button type="button" onClick=${() => download(p.what.value, { format, ...p.drawing() })}><${Icon} name="down" />${format === "json" && p.what.value === "garment" ? T.files.garment : T.files[format]}</button></li>`)}</ul>
    <ul class="forms">${[false, true].map((plain) => html`<li key=${plain}><button type="button" onClick=${() => download(p.what.value, { format: "dxf", ...(plain && { plain: "true" }), ...p.drawing() })}><${Icon} name="down" />${plain ? T.dxf.plain : T.dxf.pattern}</button><p class="quiet">${plain ? T.dxf.plainFor : T.dxf.patternFor}</p></li>`)}</ul>
  </section>`;
}

function count() {
  const n = p.pages.value;
  if (n === null) return p.trouble.value ? "" : T.counting;
  return T.sheets(n, !p.LARGE.includes(p.paper.value) && !p.tiles.value);
}

/** Shown where the rulers of the printer were measured. */
function Correct() {
  const { across, up } = print.value;
  if (across === null && up === null) return null;
  return html`<label class="inline"><input type="checkbox" checked=${p.correct.value} onChange=${(/** @type {any} */ e) => (p.correct.value = e.currentTarget.checked)} />${T.correct}</label>
    <p class="quiet">${T.correctHow(across === null ? "" : lengthText(across), up === null ? "" : lengthText(up))}</p>`;
}

/** The picture beside the panel; the last one stays until the next has come. */
export function PrintPreview() {
  const src = p.preview.value, saved = ed.saveState.value.kind === "saved";
  const [shown, setShown] = useState("");
  if (!src) return null;
  const ready = shown === src && saved;
  return html`<div class="print-preview" aria-busy=${!ready}>${!ready && html`<p class="preparing" role="status"><${Icon} name="dots" />${T.preparing}</p>`}<img class=${ready ? "" : "stale"} src=${src} alt=${T.preview} onLoad=${() => setShown(src)} /></div>`;
}
