// One garment: its pieces, drawn to one scale, and its photos.

import { useEffect, useState } from "preact/hooks";
import { garmentURL } from "../api.js";
import { number } from "../format.js";
import { go } from "../state/app.js";
import * as store from "../state/garments.js";
import { texts } from "../texts.js";
import { NameField, Trouble } from "./App.js";
import { html } from "./html.js";
import { Icon } from "./icons.js";
import { Photos } from "./Photos.js";
import { PieceDrawing, commonScale } from "./PieceDrawing.js";

/** @import {Garment as GarmentType, WirePiece} from "../types" */

const T = texts.garment;

/** @param {{ id: string }} props */
export function Garment({ id }) {
  const over = useDropAndPaste(id);
  useEffect(() => store.openGarment(id), [id]);
  const g = store.garment.value, trouble = store.trouble.value;
  useEffect(() => { if (g) document.title = `${g.name} – ${texts.product}`; }, [g?.name]);
  return html`<main class=${`page ${over ? "drop" : ""}`} tabindex="-1">
    <a class="back" href="#/"><${Icon} name="back" />${T.back}</a>
    ${trouble && html`<${Trouble} ...${trouble} again=${() => store.refresh(id)} />`}
    ${!g && !trouble && html`<p>${texts.loading}</p>`}
    ${g && html`<h1 class="named"><${NameField} value=${g.name} label=${T.rename} change=${store.renameGarment} /></h1>
      ${!g.pieces?.length && !g.photos?.length && html`<${First} />`}
      ${g.pieces?.length ? html`<div class="halves"><${Pieces} garment=${g} /><${Photos} garment=${g} /></div>` : html`<${Photos} garment=${g} />`}
      <footer><button type="button" class="plain" onClick=${() => removeAll(g)}><${Icon} name="bin" />${T.deleteGarment}</button></footer>`}
    ${over && html`<div class="drop-here" aria-hidden="true"><span>${T.dropNow}</span></div>`}
  </main>`;
}

/** What to do first, in a garment that holds nothing yet. */
const First = () => html`<section class="slip first" aria-labelledby="first-title"><h2 id="first-title">${T.firstTitle}</h2>
  <ol>${T.first.map((step) => html`<li key=${step}>${step}</li>`)}</ol></section>`;

/** @param {GarmentType} g */
async function removeAll(g) {
  if (confirm(T.deleteGarmentAsk(g.name)) && (await store.removeGarment(g.id))) go("#/");
}

/** Takes dropped and pasted files; true while files are held over the page. @param {string} id */
function useDropAndPaste(id) {
  const [over, setOver] = useState(false);
  useEffect(() => {
    let depth = 0;
    /** @param {DragEvent} e */
    const carries = (e) => e.dataTransfer?.types.includes("Files");
    /** @type {[string, (e: any) => void][]} */
    const on = [
      ["dragenter", (e) => { if (carries(e)) { depth++; setOver(true); } }],
      ["dragleave", (e) => { if (carries(e) && --depth <= 0) { depth = 0; setOver(false); } }],
      ["dragover", (e) => { if (carries(e)) e.preventDefault(); }],
      ["drop", (e) => { if (!carries(e)) return; e.preventDefault(); depth = 0; setOver(false); store.addFiles(id, e.dataTransfer.files); }],
      ["paste", (e) => { if (e.clipboardData?.files.length) store.addFiles(id, e.clipboardData.files); }],
    ];
    on.forEach(([name, f]) => addEventListener(name, f));
    return () => on.forEach(([name, f]) => removeEventListener(name, f));
  }, [id]);
  return over;
}

/** @param {{ garment: GarmentType }} props */
function Pieces({ garment }) {
  const all = (garment.pieces ?? []).flatMap((p) => store.pieces.value.get(p.id) ?? []);
  const scale = commonScale(all);
  if (all.length === 0) return html`<p>${texts.loading}</p>`;
  return html`<section aria-labelledby="pieces-title">
    <h2 id="pieces-title">${T.pieces}</h2>
    <ul class="pieces">${all.map((p) => html`<li key=${p.id}><${PieceLink} piece=${p} scale=${scale} /></li>`)}</ul>
    ${all.length > 1 && html`<p class="quiet">${T.scaleNote}</p>`}
    <${Downloads} id=${garment.id} />
  </section>`;
}

const FORMATS = /** @type {const} */ ([["a4", "pdf", "a4"], ["letter", "pdf", "letter"], ["one", "pdf", "one"], ["svg", "svg", ""], ["json", "json", ""]]);

/** All pieces in one file. @param {{ id: string }} props */
const Downloads = ({ id }) => html`<section class="slip all" aria-labelledby="all-title">
  <h3 id="all-title">${T.all}</h3>
  <p class="quiet">${texts.editor.pdfHow} ${texts.editor.blades}</p>
  <ul class="downloads">${FORMATS.map(([name, format, paper]) => html`<li key=${name}><a class=${`button ${name === "a4" ? "main" : ""}`} href=${garmentURL(id, format, paper)} download><${Icon} name="down" />${T.allFormats[name]}</a></li>`)}</ul>
</section>`;

/** @param {{ piece: WirePiece, scale: number }} props */
function PieceLink({ piece, scale }) {
  const xs = piece.knots.map((k) => k.at[0]), ys = piece.knots.map((k) => k.at[1]);
  /** @param {number[]} v */
  const span = (v) => `${number((Math.max(...v) - Math.min(...v)) / 10, 1)} cm`;
  const doubtful = piece.unsure?.length ?? 0;
  return html`<a class="slip piece" href=${`#/piece/${piece.id}`} aria-label=${T.openPiece(piece.name)}>
    <${PieceDrawing} piece=${piece} scale=${scale} />
    <strong>${piece.name}</strong>
    <span class="quiet">${T.size(span(xs), span(ys))}</span>
    ${doubtful > 0 && html`<span class="flag"><${Icon} name="warning" />${texts.editor.unsureTitle(doubtful)}</span>`}
  </a>`;
}
