// Laying: how the pieces lie on the cloth, and how much of it to buy.

import { useEffect } from "preact/hooks";
import { layURL } from "../../api.js";
import { number, sentence } from "../../format.js";
import { unit } from "../../state/app.js";
import * as store from "../../state/garments.js";
import * as L from "../../state/laying.js";
import * as O from "../../state/outlining.js";
import { texts } from "../../texts.js";
import { Trouble } from "../App.js";
import { html } from "../html.js";
import { Icon } from "../icons.js";
import { UnitChoice, len } from "../lengths.js";
import { ClothForm } from "./ClothForm.js";
import { OutlineBar } from "./Outline.js";
import { Legend, Table } from "./Table.js";
import { Widths } from "./Widths.js";

const T = texts.lay;

/** A length as shops sell it. @param {number} mm */
export function shopLength(mm) {
  if (unit.value !== "in") return `${number(mm / 1000, 2)}\u00a0m`;
  const n = Math.round((mm / 914.4) * 8), whole = Math.floor(n / 8), part = ["", "1/8", "1/4", "3/8", "1/2", "5/8", "3/4", "7/8"][n % 8];
  return `${[whole || "", part].filter(Boolean).join(" ") || "0"}\u00a0yd`;
}

/** @param {number} v @param {string} [currency] */
export const money = (v, currency = "") => `${number(v, 2)}${currency && `\u00a0${currency}`}`;

/** @param {{ id: string }} props */
export function Lay({ id }) {
  useEffect(() => store.openGarment(id), [id]);
  useEffect(() => { O.cancel(); return L.open(id); }, [id]);
  const drawing = O.drawn.value !== null;
  useEffect(() => { if (drawing) document.querySelector(".lay-table")?.scrollIntoView({ block: "start" }); }, [drawing]);
  const g = store.garment.value, trouble = store.trouble.value ?? L.trouble.value;
  useEffect(() => { if (g?.id === id) void L.load(); }, [id, g?.version, L.running.value === null]);
  useEffect(() => { if (g) document.title = `${T.title} – ${g.name} – ${texts.product}`; }, [g?.name]);
  useEffect(() => {
    /** @param {KeyboardEvent} e */
    const onKey = (e) => {
      if (!(e.ctrlKey || e.metaKey) || e.key.toLowerCase() !== "z" || (e.target instanceof HTMLElement && e.target.matches("input, textarea"))) return;
      e.preventDefault();
      if (O.drawn.value) O.remove(O.drawn.value.at);
      else if (e.shiftKey) L.redo();
      else L.undo();
    };
    addEventListener("keydown", onKey);
    return () => removeEventListener("keydown", onKey);
  }, []);
  const some = Boolean(g?.pieces?.length);
  return html`<main class="page lay" tabindex="-1">
    <a class="back" href=${`#/garment/${id}`}><${Icon} name="back" />${g?.name ?? T.back}</a>
    <div class="row spread"><h1>${T.title}</h1><${UnitChoice} /></div>
    ${trouble && html`<${Trouble} ...${trouble} again=${() => (L.trouble.value ? L.lay() : store.refresh(id))} />`}
    ${!g && !trouble && html`<p>${texts.loading}</p>`}
    ${g && !some && html`<p class="lead">${T.noPieces}</p><p>${T.noPiecesHow}</p>`}
    ${g && some && html`<div class="lay-grid">
      <${Result} />
      <section class="lay-table" aria-labelledby="board-title"><h2 id="board-title" class="sr">${T.board}</h2>
        <${Table} />
        ${drawing ? html`<${OutlineBar} />` : html`<${Offer} />`}
        <${Legend} />
        <${Notes} />
      </section>
      <${ClothForm} />
      <div class="lay-more"><${Widths} /><${Print} id=${id} /></div>
    </div>`}
  </main>`;
}

/** How much to buy, and what goes on. */
function Result() {
  const p = L.plan.value, on = L.running.value, laid = p && p.pieces.length > 0;
  const have = laid && p.cloth.remnant_mm?.length;
  const fixed = L.pieces.value.some((l) => l.fixed);
  return html`<section class="slip result" aria-labelledby="buy">
    <p id="buy" class="buy">${!laid ? T.buyNone : have ? T.have : T.buy(shopLength(p.buy_mm), len(p.cloth.width_mm))}</p>
    ${laid && html`<p>${T.lies(len(Math.round(p.laid_length_mm)))} ${T.used(`${Math.round(p.used_pct)}\u00a0%`)} ${p.cost ? T.cost(money(p.cost, p.cloth.currency)) : ""}</p>
      <p class="quiet">${T.bound(len(Math.round(p.bound_mm)))} ${!have && T.unwashed}</p>`}
    <p class="word" role="status">${L.word.value}</p>
    <div class="row">${on
      ? html`<button type="button" class="main" onClick=${L.stop}>${T.stop}</button>`
      : html`<button type="button" class="main" onClick=${() => L.lay()}>${!laid ? T.start : fixed ? T.rest : T.again}</button>`}
      <span class="both"><button type="button" onClick=${L.undo} disabled=${Boolean(on) || !L.undoable.value} aria-label=${T.undo} title=${L.undoable.value ? texts.editor.undoOf(L.undoable.value) : T.undo}><${Icon} name="undo" /></button>
      <button type="button" onClick=${L.redo} disabled=${Boolean(on) || !L.redoable.value} aria-label=${T.redo} title=${L.redoable.value ? texts.editor.redoOf(L.redoable.value) : T.redo}><${Icon} name="redo" /></button></span>
    </div>
  </section>`;
}

/** What can be done with the chosen piece. */
function Offer() {
  const i = L.chosen.value, l = L.pieces.value[i], met = L.met.value, shape = l && L.shapes.value.find((s) => s.id === l.id);
  if (L.running.value || L.pieces.value.length === 0) return html`<div class="offer"></div>`;
  if (!l || !shape) return html`<div class="offer"><p class="quiet">${T.pickHow}</p></div>`;
  const flips = shape.turns.some((t) => t.mirrored !== l.mirrored) && shape.turns.some((t) => t.mirrored === l.mirrored) && !l.at_fold;
  const what = met && (met.kind === "piece" ? L.pieces.value[met.index]?.name ?? "" : T.stopOf[met.kind]);
  return html`<div class="offer" role="group" aria-label=${l.name}>
    <span class="what"><strong>${l.name}</strong>${l.fixed && html` <span class="quiet">${T.pinned}</span>`}</span>
    <span class="row">
      ${shape.turns.length > 1 && html`<button type="button" onClick=${() => L.turn(i, false)}>${T.turn} <kbd>R</kbd></button>`}
      ${flips && html`<button type="button" onClick=${() => L.turn(i, true)}>${T.flip} <kbd>F</kbd></button>`}
      <button type="button" aria-pressed=${Boolean(l.fixed)} onClick=${() => L.pin(i)}>${l.fixed ? T.unpin : T.pin} <kbd>P</kbd></button>
    </span>
    <p class="met" role="status">${what ? `${T.stopped_by(sentence(what))} ${T.grainKept}` : ""}</p>
  </div>`;
}

/** What is wrong with the layout, and what is good to know of it. */
function Notes() {
  const bad = L.troubles.value, known = L.plan.value?.findings ?? [];
  return html`${bad.length > 0 && html`<div class="note error" role="alert"><${Icon} name="error" /><div><strong>${T.troubles}</strong>
      <ul>${bad.slice(0, 6).map((t) => html`<li key=${t.message}>${t.message} ${t.remedy}</li>`)}</ul></div></div>`}
    ${known.length > 0 && html`<details class="slip prep" open=${known.some((f) => f.severity !== "info")}><summary><h2>${T.findings} (${known.length})</h2></summary>
      <ul class="lay-findings">${known.map((f) => html`<li key=${f.message}><${Icon} name=${f.severity} /><span>${f.message} ${f.remedy}</span></li>`)}</ul></details>`}
    <p class="quiet board-help only-mouse">${T.boardKeys}</p>`;
}

/** @param {{ id: string }} props */
function Print({ id }) {
  const query = { cloth: L.clothId.value, unit: unit.value }, ready = L.pieces.value.length > 0 && L.troubles.value.length === 0 && !L.running.value;
  if (L.pieces.value.length === 0) return null;
  return html`<section class="slip" aria-labelledby="lay-print"><h2 id="lay-print"><${Icon} name="print" />${T.print}</h2>
    <p class="quiet">${ready || L.running.value ? T.printHow : T.printNot}</p>
    ${ready && html`<ul class="downloads">
      <li><a class="button main" href=${layURL(id, { ...query, format: "pdf" })} download><${Icon} name="down" />${T.pdf}</a></li>
      <li><a class="button" href=${layURL(id, { ...query, format: "svg" })} download><${Icon} name="down" />${T.svg}</a></li>
      <li><a class="button" href=${layURL(id, { ...query, format: "pdf", size: "full" })} download><${Icon} name="down" />${T.full}</a></li></ul>`}
    <p class="note warning"><span>${T.caution}</span></p></section>`;
}
