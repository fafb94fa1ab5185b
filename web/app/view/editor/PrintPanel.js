// Paper, what to include, and all files.

import { signal } from "@preact/signals";
import * as ed from "../../state/editor.js";
import { recall, remember } from "../../state/app.js";
import { stepURL, unit } from "../../state/app.js";
import { download } from "../../state/session.js";
import { todo } from "../../state/todo.js";
import { texts } from "../../texts.js";
import { html } from "../html.js";
import { Icon } from "../icons.js";
import { Choice, UnitChoice } from "../lengths.js";

const T = texts.printing;
const PAPER = "secondcut.paper";
const PAPERS = /** @type {const} */ (["a4", "letter", "a3", "tabloid", "a1", "a0", "one"]);
const OTHERS = /** @type {const} */ ([["svg", "svg"], ["dxf", "dxf"], ["png", "png"], ["json", "json"]]);

const paper = signal(PAPERS.find((p) => p === recall(PAPER)) ?? "a4");
const what = signal(/** @type {"piece" | "garment"} */ ("piece"));
const unfold = signal(false);

/** @returns {Record<string, string>} */
const options = () => ({ unit: unit.value, ...(unfold.value && { unfold: "true" }) });

export function PrintPanel() {
  const doc = ed.settled.value, id = ed.piece.value?.id ?? "";
  if (!doc) return null;
  const open = todo(doc, id), folded = doc.edges?.some((e) => e.finish.kind === "fold");
  return html`<section aria-labelledby="print-title"><h2 id="print-title" tabindex="-1">${T.title}</h2>
    ${open.length > 0 && html`<div class="note warning"><${Icon} name="warning" /><div><strong>${T.openEnds}</strong><ul>${open.map((t) => html`<li key=${t.text}><a href=${stepURL(id, t.step)}>${t.text}</a></li>`)}</ul></div></div>`}
    <div class="seg" role="radiogroup" aria-label=${T.which}>${/** @type {const} */ (["piece", "garment"]).map((w) => html`<label key=${w}><input type="radio" name="print-what" checked=${what.value === w} onChange=${() => (what.value = w)} /><span>${w === "piece" ? T.thisPiece : T.allPieces}</span></label>`)}</div>
    <${Choice} label=${T.paper} value=${paper.value} options=${PAPERS.map((p) => [p, T.papers[p]])} change=${(/** @type {any} */ p) => { paper.value = p; remember(PAPER, p); }} />
    <${UnitChoice} />
    ${folded && html`<label class="inline"><input type="checkbox" checked=${unfold.value} onChange=${(/** @type {any} */ e) => (unfold.value = e.currentTarget.checked)} />${T.whole}</label>`}
    <button type="button" class="main wide" onClick=${() => download(what.value, { format: "pdf", paper: paper.value, ...options() })}><${Icon} name="down" />${T.get}</button>
    <ol class="before">${T.before.map((line) => html`<li key=${line}>${line}</li>`)}</ol>
    <p class="quiet">${T.layers}</p>
    <p class="note warning"><span>${T.caution}</span></p>
    <h3>${T.other}</h3><p class="quiet">${T.filesHow}</p>
    <ul class="downloads">${OTHERS.map(([name, format]) => html`<li key=${name}><button type="button" onClick=${() => download(what.value, { format, ...options() })}><${Icon} name="down" />${T.files[name]}</button></li>`)}</ul>
  </section>`;
}
