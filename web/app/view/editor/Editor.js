// The piece editor: photo and outline, what can be done with them, and what is known.

import { useEffect } from "preact/hooks";
import { rename } from "../../actions/rename.js";
import { key } from "../../commands.js";
import { helpOpen } from "../../state/app.js";
import * as ed from "../../state/editor.js";
import * as session from "../../state/session.js";
import { texts } from "../../texts.js";
import { NameField, Trouble } from "../App.js";
import { html } from "../html.js";
import { Icon } from "../icons.js";
import { Bench, Corners } from "./Bench.js";
import { Canvas } from "./Canvas.js";
import { Conflict } from "./Conflict.js";
import { Panel } from "./Panel.js";

const T = texts.editor;

/** @param {{ id: string }} props */
export function Editor({ id }) {
  useEffect(() => {
    void session.open(id);
    return session.close;
  }, [id]);
  useKeys();
  const piece = ed.piece.value, trouble = session.trouble.value, name = ed.name.value;
  useEffect(() => { if (name) document.title = `${name} – ${texts.product}`; }, [name]);
  if (!piece || !ed.ready.value)
    return html`<main class="page" tabindex="-1"><a class="back" href="#/"><${Icon} name="back" />${texts.garment.back}</a>
      ${trouble ? html`<${Trouble} ...${trouble} again=${() => session.open(id)} />` : html`<p>${texts.loading}</p>`}</main>`;
  return html`<main class="editor" tabindex="-1">
    <header class="editor-top">
      <a class="button plain" href=${`#/garment/${piece.garment_id}`} aria-label=${T.back} title=${T.back}><${Icon} name="back" /></a>
      <h1><${NameField} value=${name} label=${T.rename} change=${(/** @type {string} */ v) => ed.perform(rename(v), T.labels.rename)} /></h1>
      <${Saved} />
      <button type="button" class="get" title=${T.download} aria-label=${T.download} onClick=${showDownloads}><${Icon} name="down" /><span>${T.download}</span></button>
      <button type="button" class="plain" aria-label=${texts.help.open} title=${texts.help.open} onClick=${() => (helpOpen.value = true)}><${Icon} name="help" /></button>
    </header>
    <div class="table">
      <div class="field"><${Canvas} /><${Corners} /></div>
      <${Bench} />
    </div>
    <${Panel} />
    <${Conflict} />
  </main>`;
}

/** Opens the panel where it is a sheet, and goes to the downloads in it. */
function showDownloads() {
  ed.panelOpen.value = true;
  requestAnimationFrame(() => {
    const title = document.getElementById("download-title");
    title?.scrollIntoView({ block: "start" });
    title?.focus();
  });
}

/** Keys count unless something is being typed or a dialog is open. */
export function useKeys() {
  useEffect(() => {
    /** @param {KeyboardEvent} e */
    const onKey = (e) => {
      const at = /** @type {HTMLElement} */ (e.target);
      if (e.defaultPrevented || document.querySelector("dialog[open]") || at.closest("input:not([type=range]):not([type=checkbox]), textarea, select")) return;
      const free = at === document.body || at.closest(".canvas") !== null || at.matches("main");
      if (key(e, free)) e.preventDefault();
    };
    addEventListener("keydown", onKey);
    return () => removeEventListener("keydown", onKey);
  }, []);
}

/** @type {Record<string, string>} */
const ICONS = { saved: "check", waiting: "dots", saving: "dots", unsent: "broken", rejected: "error", conflict: "warning" };

function Saved() {
  const s = ed.saveState.value;
  const why = s.kind === "rejected" || s.kind === "unsent" ? s.why : "";
  return html`<div class=${`saved is-${s.kind}`}>
    <span role="status" title=${why}><${Icon} name=${ICONS[s.kind]} /><span>${texts.save[s.kind]}</span></span>
    ${(s.kind === "unsent" || s.kind === "rejected") && html`<button type="button" onClick=${session.saveNow}>${texts.save.now}</button>`}
  </div>`;
}
