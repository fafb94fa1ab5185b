// The frame of all pages, and which page is shown.

import { useEffect, useRef } from "preact/hooks";
import { hush, helpOpen, paletteOpen, route, said } from "../state/app.js";
import { me, mayChange } from "../state/people.js";
import { texts } from "../texts.js";
import { Editor } from "./editor/Editor.js";
import { Rescue } from "./editor/Rescue.js";
import { Garment } from "./Garment.js";
import { Help } from "./Help.js";
import { Home } from "./Home.js";
import { html } from "./html.js";
import { Lay } from "./lay/Lay.js";
import { Icon, Sign } from "./icons.js";
import { Known } from "./Known.js";
import { Making } from "./Making.js";
import { Palette } from "./Palette.js";
import { Show, SignIn, Who } from "./People.js";
import { Wear } from "./garment/Wear.js";

export function App() {
  const who = me.value;
  if (!who.signed_in) return html`<div class="frame at-home"><${Top} /><${SignIn} /></div>`;
  const r = routeFor(route.value);
  const Page = { home: Home, garment: Garment, lay: Lay, sheet: Making, wear: Wear, photo: Rescue, known: Known, piece: Editor }[r.page];
  const looking = who.garment_id || !mayChange(); // at one garment, or at all of them
  const onTable = r.page === "piece" || r.page === "photo" || r.page === "known";
  return html`
    <div class=${`frame at-${onTable ? "piece" : r.page}`}>
      ${!onTable && html`<${Top} />`}
      <${looking && r.page === "garment" ? Show : Page} key=${"id" in r ? r.id : ""} id=${"id" in r ? r.id : ""} />
      <${Said} />
      ${helpOpen.value && html`<${Help} />`}
      ${paletteOpen.value && html`<${Palette} />`}
    </div>`;
}

/** Where one goes who may only look. @param {import("../state/app.js").Route} r @returns {import("../state/app.js").Route} */
function routeFor(r) {
  const { garment_id } = me.value;
  if (garment_id) return { page: "garment", id: garment_id, step: "outline" };
  return mayChange() || r.page === "home" || r.page === "garment" ? r : { page: "home" };
}

function Top() {
  return html`<header class="top">
    <button type="button" class="skip" onClick=${() => document.querySelector("main")?.focus()}>${texts.skip}</button>
    <a class="brand" href="#/"><${Sign} /><span>${texts.product}</span></a>
    <nav><a class="button plain" href="#cards-title"><${Icon} name="card" />${texts.home.cardsTitle}</a>
    <button type="button" class="plain" onClick=${() => (helpOpen.value = true)}><${Icon} name="help" />${texts.help.open}</button><${Who} /></nav>
  </header>`;
}

/** What was last said, read out by screen readers. */
function Said() {
  const s = said.value;
  return html`<div class="said" role="status" aria-live="polite">
    ${s && html`<div class="slip" key=${s.id}>
      <p><strong>${s.text}</strong>${s.remedy && html`<span>${s.remedy}</span>`}</p>
      <button type="button" class="plain" onClick=${hush} aria-label=${texts.close}><${Icon} name="closeX" /></button>
    </div>`}
  </div>`;
}

/**
 * A text that can be changed in place: Enter or leaving it takes it over, Esc
 * puts the old one back.
 * @param {{ value: string, label: string, change: (v: string) => void, class?: string, list?: string }} props
 */
export function NameField({ value, label, change, class: cls = "", list }) {
  const box = useRef(/** @type {HTMLInputElement | null} */ (null));
  useEffect(() => { if (box.current && box.current !== document.activeElement) box.current.value = value; }, [value]);
  /** @param {KeyboardEvent} e */
  const onKey = (e) => {
    const el = /** @type {HTMLInputElement} */ (e.currentTarget);
    e.stopPropagation();
    if (e.key === "Escape") el.value = value;
    if (e.key === "Enter" || e.key === "Escape") el.blur();
  };
  /** @param {Event} e */
  const onBlur = (e) => {
    const el = /** @type {HTMLInputElement} */ (e.currentTarget);
    const next = el.value.trim().replace(/\s+/g, " ");
    if (next && next !== value) change(next);
    else el.value = value;
  };
  return html`<input ref=${box} class=${`name ${cls}`} type="text" maxlength="200" autocomplete="off" aria-label=${label} title=${label} list=${list}
    value=${value} onKeyDown=${onKey} onBlur=${onBlur} />`;
}

/** A problem with what to do about it. @param {{ title: string, remedy: string, again?: () => void }} props */
export const Trouble = ({ title, remedy, again }) => html`<div class="note error" role="alert">
  <${Icon} name="error" /><div><strong>${title}</strong><p>${remedy}</p>
  ${again && html`<button type="button" onClick=${again}>${texts.again}</button>`}</div>
</div>`;
