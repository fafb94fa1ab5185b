// Earlier versions of the piece, to be brought back.

import { useState } from "preact/hooks";
import { dateText } from "../../format.js";
import * as session from "../../state/session.js";
import { texts } from "../../texts.js";
import { html } from "../html.js";

/** @import {Version} from "../../types" */

const T = texts.editor;

export function Versions() {
  const [all, setAll] = useState(/** @type {Version[]} */ ([]));
  /** @param {any} e */
  const toggle = async (e) => { if (e.currentTarget.open) setAll(await session.versions()); };
  /** @param {number} n */
  const back = async (n) => { await session.bringBack(n); setAll(await session.versions()); };
  return html`<details onToggle=${toggle}><summary><h2>${T.versionsTitle}</h2></summary><p class="quiet">${T.versionsHow}</p>
    <ol class="versions-list">${all.map((v, i) => html`<li key=${v.version} class="row spread"><span>${T.version(dateText(v.saved_at))}</span>${i === 0 ? html`<span class="quiet">${T.versionNow}</span>`
      : html`<button type="button" aria-label=${`${T.versionBack}: ${T.version(dateText(v.saved_at))}`} onClick=${() => back(v.version)}>${T.versionBack}</button>`}</li>`)}</ol></details>`;
}
