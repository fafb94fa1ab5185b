// All garments: found by name, tag or size, seen as small drawings; and all of them as
// one archive.

import { useState } from "preact/hooks";
import { archiveURL, newKey, pictureURL, readArchive, remakeGarment } from "../api.js";
import { dateText } from "../format.js";
import { go, say } from "../state/app.js";
import * as store from "../state/garments.js";
import { mayChange } from "../state/people.js";
import { sayProblem } from "../state/problems.js";
import { texts } from "../texts.js";
import { Trouble } from "./App.js";
import { html } from "./html.js";
import { Icon } from "./icons.js";
import { TextField } from "./lengths.js";

/** @import {Garment, GarmentSummary} from "../types" */

const T = texts.library;
/** From how many garments on one can search. */
const MANY = 4;

/** Whether a garment has all words of a search in its name, tags or size. @param {GarmentSummary} g @param {string} text */
export function matches(g, text) {
  const all = [g.name, ...g.tags, g.size, g.origin?.name ?? ""].join(" ").toLowerCase();
  return text.toLowerCase().split(/\s+/).every((word) => all.includes(word));
}

export function Garments() {
  const trouble = store.trouble.value, list = store.list.value, [text, setText] = useState(""), [tag, setTag] = useState("");
  if (!list) return trouble ? html`<${Trouble} ...${trouble} again=${store.loadList} />` : html`<p>${texts.loading}</p>`;
  if (list.length === 0) return html`<p class="lead">${texts.home.none} <a href="#cards-title">${texts.home.noneCards}</a>${texts.home.noneStart}</p>`;
  const tags = [...new Set(list.flatMap((g) => g.tags))].sort(), found = list.filter((g) => (!tag || g.tags.includes(tag)) && matches(g, text));
  return html`${list.length >= MANY && html`<div class="find"><label class="inline" for="find-garment"><${Icon} name="search" /><span class="sr">${T.find}</span></label>
      <input id="find-garment" type="search" placeholder=${T.findHow} value=${text} onInput=${(/** @type {any} */ e) => setText(e.currentTarget.value)} /></div>`}
    ${tags.length > 0 && html`<div class="chips" role="group" aria-label=${T.tag}>${["", ...tags].map((t) => html`<button type="button" key=${t} class="chip" aria-pressed=${t === tag} onClick=${() => setTag(t)}>${t || T.all}</button>`)}</div>`}
    ${found.length === 0 && html`<p role="status">${T.none}</p>`}
    <ul class="garments">${found.map((g) => html`<li key=${g.id} class="slip garment-card"><a href=${`#/garment/${g.id}`}>
        ${g.piece_count > 0 ? html`<img src=${pictureURL(g)} width="96" height="72" alt="" loading="lazy" />` : html`<span class="no-picture"></span>`}
        <span class="garment-words"><strong>${g.name}</strong>
          <span>${[texts.home.counts(g.piece_count, g.photo_count), g.size && T.size(g.size)].filter(Boolean).join(" · ")}</span>
          <span class="quiet">${g.origin ? `${T.originGone(g.origin.name)} · ` : ""}${texts.home.changed(dateText(g.updated_at))}</span>
          ${g.tags.length > 0 && html`<span class="quiet">${g.tags.join(", ")}</span>`}</span></a>
      ${g.piece_count > 0 && mayChange() && html`<button type="button" class="plain" onClick=${() => remake(g)}>${T.remake}<span class="sr">: ${g.name}</span></button>`}</li>`)}</ul>`;
}

/** Makes a garment after another and opens it: there its name can be typed over. @param {{ id: string, name: string }} g */
const remake = (g) => remakeGarment(g.id, T.remakeName(g.name), newKey()).then((made) => {
  go(`#/garment/${made.id}`);
  say(T.remade, T.remakeHow);
}, sayProblem);

/** What a garment is a remake of, and its tags. @param {{ garment: Garment }} props */
export const Origin = ({ garment: g }) => g.origin ? html`<p class="quiet">${T.origin} <a href=${`#/garment/${g.origin.id}`}>${g.origin.name}</a></p>` : null;

/** @param {{ garment: Garment }} props */
export const Tags = ({ garment: g }) => html`<${TextField} label=${T.tags} value=${(g.tags ?? []).join(", ")} placeholder=${T.tagsHow} change=${(/** @type {string} */ v) => store.editGarment({ tags: v.split(",") })} />`;

/** All of it as one file, out and in; for the computer itself. */
export function Archive() {
  const [busy, setBusy] = useState(false), lan = store.lan.value;
  if (lan?.enabled && !lan.url) return null;
  /** @param {any} e */
  const read = async (e) => {
    const el = e.currentTarget, file = el.files?.[0];
    if (!file) return;
    setBusy(true);
    await readArchive(file).then((got) => say(T.loaded(got.garments, got.skipped)), sayProblem);
    el.value = "";
    setBusy(false);
    await store.loadList();
  };
  return html`<section class="slip" aria-labelledby="archive-title"><h2 id="archive-title"><${Icon} name="down" />${T.archive}</h2><p>${T.archiveHow}</p>
    <div class="row"><a class="button" href=${archiveURL} download>${T.save}</a>
      <label class="button">${T.load}<input class="file archive" type="file" accept=".tar,application/x-tar" disabled=${busy} onChange=${read} /></label></div>
    ${busy && html`<p role="status">${T.loading}</p>`}</section>`;
}
