// The first page: garments, card sheet, phone.

import { useEffect, useRef, useState } from "preact/hooks";
import { cardsURL } from "../api.js";
import { go } from "../state/app.js";
import * as store from "../state/garments.js";
import { me, mayChange } from "../state/people.js";
import { texts } from "../texts.js";
import { Look } from "./Help.js";
import { html } from "./html.js";
import { Icon } from "./icons.js";
import { Archive, Garments } from "./Library.js";
import { UnitChoice } from "./lengths.js";
import { Printer } from "./Printer.js";
import { Steps } from "./Steps.js";

const T = texts.home;
const CARDS = "#cards-title";

export function Home() {
  useEffect(() => {
    document.title = texts.product;
    void store.loadList();
    void store.loadLan();
    void store.loadTrash();
  }, []);
  const none = store.list.value?.length === 0;
  useEffect(() => { if (location.hash === CARDS) document.getElementById("cards-title")?.scrollIntoView(); }, [store.list.value, location.hash]);
  return html`<main class="page" tabindex="-1">
    <p class="tagline">${texts.tagline}</p>
    <div class=${`columns ${none ? "none-yet" : ""}`}>
      <section aria-labelledby="garments-title">
        <h1 id="garments-title">${T.title}</h1>
        <${Garments} />
        ${mayChange() && html`<${NewGarment} />
        <${Trash} />`}
        <${Steps} />
      </section>
      <div class="side">
        <${Cards} />
        ${!me.value.accounts && html`<${Phone} />`}
        ${me.value.role === "owner" && html`<${Archive} />`}
      </div>
    </div>
    <footer class="row"><${Look} /><${UnitChoice} /></footer>
  </main>`;
}

function NewGarment() {
  const box = useRef(/** @type {HTMLInputElement | null} */ (null));
  const [busy, setBusy] = useState(false);
  /** @param {Event} e */
  const submit = async (e) => {
    e.preventDefault();
    const name = box.current?.value.trim();
    if (!name) return box.current?.focus();
    setBusy(true);
    const id = await store.create(name);
    setBusy(false);
    if (id) go(`#/garment/${id}`);
  };
  return html`<form class="new" onSubmit=${submit}>
    <label for="new-name">${T.newLabel}</label>
    <div class="row"><input id="new-name" ref=${box} type="text" maxlength="200" autocomplete="off" aria-describedby="new-hint" />
      <button type="submit" class="main" disabled=${busy}>${T.create}</button></div>
    <p id="new-hint" class="quiet">${T.newHint}</p>
    <label class="button"><${Icon} name="open" />${T.importFile}<input class="file" type="file" accept=".json,application/json" onChange=${importFile} /></label>
  </form>`;
}

/** What was deleted in the last days, to be brought back. */
function Trash() {
  if (store.trash.value.length === 0) return null;
  return html`<details class="slip prep"><summary><h2>${T.trashTitle}</h2></summary><p class="quiet">${T.trashHow}</p>
    <ul>${store.trash.value.map((t) => html`<li key=${t.id} class="row spread"><span>${t.name} <span class="quiet">(${T.trashKinds[t.kind]})</span></span><button type="button" onClick=${() => store.bringBack(t)}>${T.trashBack(t.name)}</button></li>`)}</ul></details>`;
}

/** @param {any} e */
async function importFile(e) {
  const el = e.currentTarget, file = el.files?.[0];
  el.value = "";
  const id = file && (await store.take(file));
  if (id) go(`#/garment/${id}`);
}

function Cards() {
  const [paper, setPaper] = useState("a4");
  const [sheet, setSheet] = useState(1);
  return html`<section class="slip" aria-labelledby="cards-title">
    <h2 id="cards-title"><${Icon} name="card" />${T.cardsTitle}</h2>
    <p>${T.cardsHow}</p>
    <div class="row">
      <label class="inline">${T.paper}
        <select value=${paper} onChange=${(/** @type {any} */ e) => setPaper(e.currentTarget.value)}>
          <option value="a4">A4</option><option value="letter">Letter</option>
        </select></label>
      <label class="inline">${T.sheet}
        <input type="number" min="1" max="97" step="1" inputmode="numeric" value=${sheet} aria-describedby="sheet-hint"
          onChange=${(/** @type {any} */ e) => { const n = Math.min(97, Math.max(1, Math.round(+e.currentTarget.value) || 1)); e.currentTarget.value = n; setSheet(n); }} /></label>
    </div>
    <p id="sheet-hint" class="quiet">${T.sheetHint}</p>
    <p class="quiet">${T.cardsCaution}</p>
    <details class="quiet"><summary>${T.cardsNone}</summary><p>${texts.known.lay}</p></details>
    <a class="button main" href=${cardsURL(paper, sheet)} download><${Icon} name="down" />${T.getCards}</a>
    <${Printer} />
  </section>`;
}

function Phone() {
  const lan = store.lan.value;
  if (!lan) return null;
  return html`<section class="slip" aria-labelledby="phone-title">
    <h2 id="phone-title"><${Icon} name="camera" />${T.phoneTitle}</h2>
    ${lan.enabled && lan.qr_svg
      ? html`<p>${T.phoneHow}</p><${Drawing} svg=${lan.qr_svg} label=${T.qrAlt} />${lan.url && html`<p class="link">${lan.url}</p>`}<p class="quiet">${T.phonePlain}</p>`
      : html`<p>${T.phoneOff}</p>`}
  </section>`;
}

/** An SVG text of the service, taken in as elements: the page allows no data: pictures. @param {{ svg: string, label: string }} props */
function Drawing({ svg, label }) {
  const box = useRef(/** @type {HTMLElement | null} */ (null));
  useEffect(() => {
    const root = new DOMParser().parseFromString(svg, "image/svg+xml").documentElement;
    if (root.localName === "svg") box.current?.replaceChildren(document.adoptNode(root));
  }, [svg]);
  return html`<div ref=${box} class="qr" role="img" aria-label=${label}></div>`;
}
