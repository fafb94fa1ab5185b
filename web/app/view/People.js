// Signing in, who one is, links for others to look, and a garment as who may not change
// it sees it.

import { useEffect, useRef, useState } from "preact/hooks";
import { garmentURL, makingURL } from "../api.js";
import { dateText } from "../format.js";
import { say } from "../state/app.js";
import * as store from "../state/garments.js";
import { endLink, links, loadLinks, makeLink, me, mayChange, refused, signIn, signOut } from "../state/people.js";
import { texts } from "../texts.js";
import { Trouble } from "./App.js";
import { html } from "./html.js";
import { Icon } from "./icons.js";
import { UnitChoice } from "./lengths.js";
import { PieceDrawing, commonScale, sizeOf } from "./PieceDrawing.js";

/** @import {Garment} from "../types" */

const T = texts.people;

/** Asks who one is. */
export function SignIn() {
  const [busy, setBusy] = useState(false), name = useRef(/** @type {HTMLInputElement | null} */ (null)), secret = useRef(/** @type {HTMLInputElement | null} */ (null));
  /** @param {Event} e */
  const submit = async (e) => {
    e.preventDefault();
    setBusy(true);
    await signIn(name.current?.value ?? "", secret.current?.value ?? "");
    setBusy(false);
  };
  useEffect(() => { document.title = `${T.signIn} – ${texts.product}`; }, []);
  return html`<main class="page" tabindex="-1"><h1>${T.signIn}</h1><p class="lead">${T.how}</p>
    ${refused.value && html`<${Trouble} ...${refused.value} />`}
    <form class="slip signin" onSubmit=${submit}>
      <label for="my-name">${T.name}</label><input id="my-name" ref=${name} type="text" autocomplete="username" maxlength="100" />
      <label for="my-secret">${T.secret}</label><input id="my-secret" ref=${secret} type="password" autocomplete="current-password" maxlength="400" required />
      <button type="submit" class="main" disabled=${busy}>${T.signIn}</button>
    </form></main>`;
}

/** Who is signed in, and the way out. */
export function Who() {
  const { accounts, name, workspace, garment_id } = me.value;
  if (!accounts && !garment_id) return null;
  return html`${name && html`<span class="quiet">${T.who(name, workspace ?? "")}</span>`}
    <button type="button" class="plain" onClick=${signOut}>${garment_id ? T.leave : T.signOut}</button>`;
}

/** The links to a garment: made, copied and ended. @param {{ id: string }} props */
export function Shares({ id }) {
  const [made, setMade] = useState(""), days = useRef(/** @type {HTMLSelectElement | null} */ (null)), box = useRef(/** @type {HTMLInputElement | null} */ (null));
  useEffect(() => { if (me.value.accounts) void loadLinks(id); }, [id]);
  if (!me.value.accounts || !mayChange()) return null;
  const copy = () => {
    box.current?.select();
    // Only pages that came by TLS have a clipboard.
    if (navigator.clipboard) void navigator.clipboard.writeText(made);
    else document.execCommand("copy");
    say(T.copied);
  };
  return html`<details class="slip prep shares"><summary><h2>${T.share}</h2></summary><p class="quiet">${T.shareHow}</p>
    <div class="row"><label class="inline">${T.days} <select ref=${days}>${[7, 1, 30, 90].map((n) => html`<option key=${n} value=${n}>${T.daysOf(n)}</option>`)}</select></label>
      <button type="button" class="main" onClick=${async () => setMade(await makeLink(id, Number(days.current?.value)))}>${T.make}</button></div>
    ${made && html`<div class="field-row"><label for="new-link">${T.link}</label><input id="new-link" ref=${box} type="text" readonly value=${made} /><button type="button" onClick=${copy}>${T.copy}</button></div>`}
    ${links.value.length === 0 ? html`<p>${T.none}</p>` : html`<ul>${links.value.map((l) => html`<li key=${l.id} class="row spread"><span>${T.until(dateText(l.expires_at))}</span>
      <button type="button" onClick=${() => endLink(l)}>${T.end}<span class="sr">: ${T.until(dateText(l.expires_at))}</span></button></li>`)}</ul>`}</details>`;
}

/** A garment to look at and to print. @param {{ id: string }} props */
export function Show({ id }) {
  useEffect(() => store.openGarment(id), [id]);
  const g = store.garment.value, trouble = store.trouble.value, link = Boolean(me.value.garment_id);
  useEffect(() => { if (g) document.title = `${g.name} – ${texts.product}`; }, [g?.name]);
  return html`<main class="page" tabindex="-1">
    ${!link && html`<a class="back" href="#/"><${Icon} name="back" />${texts.garment.back}</a>`}
    ${trouble && html`<${Trouble} ...${trouble} again=${() => store.refresh(id)} />`}
    ${!g && !trouble && html`<p>${texts.loading}</p>`}
    ${g && html`<h1>${g.name}</h1><p class="quiet">${link ? T.byLink : T.looking}</p><${Shown} garment=${g} />`}</main>`;
}

/** @param {{ garment: Garment }} props */
function Shown({ garment: g }) {
  const all = (g.pieces ?? []).flatMap((p) => store.pieces.value.get(p.id) ?? []), scale = all.length ? commonScale(all) : 1;
  return html`<section aria-labelledby="pieces-title"><div class="row spread"><h2 id="pieces-title">${texts.garment.pieces}</h2><${UnitChoice} /></div>
    <ul class="pieces">${all.map((p) => html`<li key=${p.id} class="slip piece"><${PieceDrawing} piece=${p} scale=${scale} /><strong>${p.name}</strong><span class="quiet sized">${sizeOf(p)}</span></li>`)}</ul>
    ${all.length > 0 && html`<p class="quiet">${texts.editor.pdfHow} ${texts.editor.blades}</p><div class="row">
      <a class="button main" href=${makingURL(g.id, { set: "true" })} download><${Icon} name="down" />${T.printAll}</a>
      <a class="button" href=${makingURL(g.id, {})} download><${Icon} name="down" />${T.making}</a>
      <a class="button" href=${garmentURL(g.id, { format: "svg" })} download><${Icon} name="down" />${texts.garment.allFormats.svg}</a></div>`}</section>`;
}
