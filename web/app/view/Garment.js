// One garment: its pieces, drawn to one scale, and its photos.

import { useEffect, useState } from "preact/hooks";
import { garmentURL } from "../api.js";
import { go, stepURL } from "../state/app.js";
import * as board from "../state/board.js";
import * as store from "../state/garments.js";
import { isReady, todo } from "../state/todo.js";
import { texts } from "../texts.js";
import { NameField, Trouble } from "./App.js";
import { html } from "./html.js";
import { Icon } from "./icons.js";
import { Origin, Tags } from "./Library.js";
import { TextField, UnitChoice } from "./lengths.js";
import { Shares } from "./People.js";
import { Photos } from "./Photos.js";
import { PieceDrawing, commonScale, docOf, sizeOf } from "./PieceDrawing.js";

/** @import {Garment as GarmentType, WirePiece} from "../types" */

const T = texts.garment;

/** @param {{ id: string }} props */
export function Garment({ id }) {
  const over = useDropAndPaste(id);
  useEffect(() => store.openGarment(id), [id]);
  const g = store.garment.value, trouble = store.trouble.value, version = g?.version ?? 0, some = Boolean(g?.pieces?.length);
  useEffect(() => { if (version && some) void board.check(id); }, [id, version, some]);
  useEffect(() => { if (g) document.title = `${g.name} – ${texts.product}`; }, [g?.name]);
  return html`<main class=${`page ${over ? "drop" : ""}`} tabindex="-1">
    <a class="back" href="#/"><${Icon} name="back" />${T.back}</a>
    ${trouble && html`<${Trouble} ...${trouble} again=${() => store.refresh(id)} />`}
    ${!g && !trouble && html`<p>${texts.loading}</p>`}
    ${g && html`<h1 class="named"><${NameField} value=${g.name} label=${T.rename} change=${store.renameGarment} /></h1><${Origin} garment=${g} />
      ${!g.pieces?.length && !g.photos?.length && html`<${First} />`}
      ${!g.pieces?.length && html`<${Prep} />`}
      ${g.pieces?.length ? html`<div class="halves"><${Pieces} garment=${g} /><${Photos} garment=${g} /></div>` : html`<${Photos} garment=${g} />`}
      <${Shares} id=${g.id} />
      <footer><button type="button" class="plain" onClick=${() => removeAll(g)}><${Icon} name="bin" />${T.deleteGarment}</button></footer>`}
    ${over && html`<div class="drop-here" aria-hidden="true"><span>${T.dropNow}</span></div>`}
  </main>`;
}

/** What to do first, in a garment that holds nothing yet. */
const First = () => html`<section class="slip first" aria-labelledby="first-title"><h2 id="first-title">${T.firstTitle}</h2>
  <ol>${T.first.map((step) => html`<li key=${step}>${step}</li>`)}</ol></section>`;

/** What to do while the garment is still whole. */
const Prep = () => html`<details class="slip prep"><summary><h2>${texts.todo.prepTitle}</h2></summary>
  <ul>${texts.todo.prep.map((line) => html`<li key=${line}>${line}</li>`)}</ul><p class="note warning"><span>${texts.todo.prepCaution}</span></p></details>`;

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
  const open = all.map((piece) => ({ piece, open: todo(docOf(piece), piece.id) }));
  const next = open.find((o) => !isReady(o.open)), ready = open.filter((o) => isReady(o.open)).length;
  return html`<section aria-labelledby="pieces-title">
    <div class="row spread"><h2 id="pieces-title">${T.pieces}</h2><${UnitChoice} /></div>
    <div class="slip next" role="status"><span>${texts.todo.readyOf(ready, all.length)}</span>
      ${next ? html`<a class="button main" href=${stepURL(next.piece.id, hard(next.open).step)}>${texts.todo.nextIs(next.piece.name, hard(next.open).text)}<${Icon} name="forward" /></a>`
        : html`<a class="button main" href=${stepURL(all[0].id, "print")}>${texts.todo.done}<${Icon} name="forward" /></a>`}</div>
    <ul class="pieces">${open.map((o) => html`<li key=${o.piece.id}><${PieceCard} ...${o} scale=${scale} /></li>`)}</ul>
    <datalist id="piece-names">${T.pieceNames.map((n) => html`<option key=${n} value=${n}></option>`)}</datalist>
    ${all.length > 1 && html`<p class="quiet">${T.scaleNote}</p>`}
    <div class="row whither"><a class="button" href=${stepURL(all[0].id, "check")}><${Icon} name="step-check" />${texts.check.title}</a>
    <a class="button" href=${`#/garment/${garment.id}/wear`}><${Icon} name="twin" />${texts.wear.open}</a>
    <a class="button" href=${`#/garment/${garment.id}/lay`}><${Icon} name="lay" />${texts.lay.open}</a>
    <a class="button" href=${`#/garment/${garment.id}/sheet`}><${Icon} name="list" />${texts.making.open}</a></div>
    <${About} garment=${garment} />
    <${Downloads} id=${garment.id} />
  </section>`;
}

const FORMATS = /** @type {const} */ ([["a4", "pdf", "a4"], ["letter", "pdf", "letter"], ["one", "pdf", "one"], ["svg", "svg", ""], ["json", "json", ""]]);

/** All pieces in one file. @param {{ id: string }} props */
const Downloads = ({ id }) => html`<section class="slip all" aria-labelledby="all-title">
  <h3 id="all-title">${T.all}</h3>
  <p class="quiet">${texts.editor.pdfHow} ${texts.editor.blades}</p>
  <ul class="downloads">${FORMATS.map(([name, format, paper]) => html`<li key=${name}><a class="button" href=${garmentURL(id, { format, ...(paper && { paper }) })} download><${Icon} name="down" />${T.allFormats[name]}</a></li>`)}</ul>
</section>`;

/** What is written on every piece, and notes. @param {{ garment: GarmentType }} props */
const About = ({ garment: g }) => html`<details class="slip prep about"><summary><h2>${T.about}</h2></summary><p class="quiet">${T.aboutHow}</p>
  ${/** @type {const} */ ([["size_worn", T.sizeWorn], ["size_measured", T.sizeMeasured], ["pattern_version", T.version]]).map(([key, label]) => html`<${TextField} key=${key} label=${label} value=${g[key] ?? ""} change=${(/** @type {string} */ v) => store.editGarment({ [key]: v })} />`)}
  <div class="field-row"><label for="pattern-date">${T.date}</label><input id="pattern-date" type="date" value=${g.date ?? ""} onChange=${(/** @type {any} */ e) => store.editGarment({ date: e.currentTarget.value })} /></div>
  <${Tags} garment=${g} />
  <${TextField} label=${T.notes} long=${true} value=${g.notes ?? ""} change=${(/** @type {string} */ v) => store.editGarment({ notes: v })} /></details>`;

/** Goes to the name of the piece instead. @param {any} e */
function toName(e) {
  e.preventDefault();
  e.currentTarget.closest(".piece").querySelector(".name").select();
}

/** @param {import("../state/todo.js").Todo[]} open */
const hard = (open) => open.find((t) => !t.soft) ?? open[0];

/**
 * A piece, drawn, with what is still missing of it.
 * @param {{ piece: WirePiece, scale: number, open: ReturnType<typeof todo> }} props
 */
function PieceCard({ piece, scale, open }) {
  return html`<div class="slip piece">
    <a class="piece-link" href=${`#/piece/${piece.id}`} title=${T.openPiece(piece.name)}>
      <${PieceDrawing} piece=${piece} scale=${scale} />
      <span class="sr">${piece.name}</span></a>
    <${NameField} value=${piece.name} label=${T.namePiece(piece.name)} change=${(/** @type {string} */ v) => store.renamePiece(piece.id, v)} class="of-piece" list="piece-names" />
    <span class="quiet sized">${sizeOf(piece)}</span>
    ${piece.photo_id && store.garment.value?.pieces?.some((p) => p.id !== piece.id && p.photo_id === piece.photo_id) && html`<button type="button" class="plain" aria-label=${T.noPiece(piece.name)}
      onClick=${() => confirm(texts.editor.removePieceAsk(piece.name)) && store.removePiece(piece.id)}><${Icon} name="bin" />${T.noPieceShort}</button>`}
    ${isReady(open) && html`<span class="state"><${Icon} name="check" />${texts.todo.ready}</span>`}
    ${open.length > 0 && html`<ul class="missing">${open.map((o) => html`<li key=${o.text} class=${o.soft ? "soft" : ""}><a onClick=${o.naming ? toName : undefined} href=${stepURL(piece.id, o.step)}><${Icon} name=${o.soft ? "info" : "warning"} />${o.text}</a></li>`)}</ul>`}
  </div>`;
}
