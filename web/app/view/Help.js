import { useEffect, useRef } from "preact/hooks";
import { helpOpen, theme } from "../state/app.js";
import { texts } from "../texts.js";
import { html } from "./html.js";

const T = texts.help;

/** How to work here, all keys, and the look. */
export function Help() {
  const box = useRef(/** @type {HTMLDialogElement | null} */ (null));
  useEffect(() => { box.current?.showModal(); }, []);
  return html`<dialog ref=${box} class="slip help" aria-labelledby="help-title" onClose=${() => (helpOpen.value = false)}>
    <h2 id="help-title" tabindex="-1" autofocus>${T.title}</h2>
    <p>${T.pages}</p>
    <p class="note warning"><span>${T.caution}</span></p>
    <p>${T.touch}</p>
    <h3>${T.keysTitle}</h3>
    <dl class="keys">${T.keys.map(([k, what]) => html`<div><dt>${k}</dt><dd>${what}</dd></div>`)}</dl>
    <p><a href="/api/v1/docs" target="_blank" rel="noopener">${T.scripts}</a></p>
    <div class="row"><${Look} /><button type="button" class="main" onClick=${() => box.current?.close()}>${texts.close}</button></div>
  </dialog>`;
}

/** Light or dark. */
export function Look() {
  const T = texts.theme;
  /** @param {Event} e */
  const set = (e) => { theme.value = /** @type {any} */ (e.currentTarget).value; };
  return html`<label class="inline">${T.label}
    <select value=${theme.value} onChange=${set}>
      ${/** @type {const} */ (["auto", "light", "dark"]).map((v) => html`<option value=${v} selected=${v === theme.value}>${T[v]}</option>`)}
    </select></label>`;
}
