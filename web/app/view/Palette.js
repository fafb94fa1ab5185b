// All commands in one list that can be searched, each with its key.

import { useEffect, useRef, useState } from "preact/hooks";
import { commands, keysOf, run } from "../commands.js";
import { paletteOpen } from "../state/app.js";
import { texts } from "../texts.js";
import { html } from "./html.js";
import { Icon } from "./icons.js";

const T = texts.palette;

export function Palette() {
  const box = useRef(/** @type {HTMLDialogElement | null} */ (null));
  const [words, setWords] = useState(""), [at, setAt] = useState(0);
  useEffect(() => { box.current?.showModal(); }, []);
  const wanted = words.toLowerCase().split(/\s+/).filter(Boolean);
  const found = Object.entries(commands).map(([id, c]) => ({ id, label: c.label(), keys: keysOf(id), ready: !(c.available && !c.available()) }))
    .filter((c) => c.id !== "palette" && wanted.every((w) => c.label.toLowerCase().includes(w)))
    .sort((a, b) => Number(b.ready) - Number(a.ready));
  const chosen = Math.min(at, found.length - 1);
  /** @param {string} id */
  const go = (id) => { box.current?.close(); run(id); };
  /** @param {KeyboardEvent} e */
  const onKey = (e) => {
    const way = e.key === "ArrowDown" ? 1 : e.key === "ArrowUp" ? -1 : 0;
    if (e.key === "Enter" && found[chosen]?.ready) go(found[chosen].id);
    else if (way && found.length) setAt((chosen + way + found.length) % found.length);
    else return;
    e.preventDefault();
  };
  return html`<dialog ref=${box} class="slip palette" aria-labelledby="palette-title" onClose=${() => (paletteOpen.value = false)}>
    <div class="row"><h2 id="palette-title">${T.title}</h2>
      <button type="button" class="plain" aria-label=${texts.close} onClick=${() => box.current?.close()}><${Icon} name="closeX" /></button></div>
    <input type="search" autofocus aria-label=${T.find} placeholder=${T.find} role="combobox" aria-expanded="true" aria-controls="palette-list" aria-activedescendant=${found[chosen] ? `do-${found[chosen].id}` : undefined}
      onInput=${(/** @type {any} */ e) => { setWords(e.currentTarget.value); setAt(0); }} onKeyDown=${onKey} />
    ${found.length === 0 ? html`<p role="status">${T.none}</p>` : null}
    <ul id="palette-list" role="listbox" aria-label=${T.open}>${found.map((c, i) => html`<li key=${c.id} id=${`do-${c.id}`} role="option" aria-selected=${i === chosen} aria-disabled=${!c.ready} onClick=${() => c.ready && go(c.id)} onPointerMove=${() => setAt(i)}>
      <span>${c.label}${!c.ready ? html` <span class="quiet">(${T.notNow})</span>` : null}</span>${c.keys ? html`<kbd>${c.keys}</kbd>` : null}</li>`)}</ul>
  </dialog>`;
}
