import { useEffect, useRef } from "preact/hooks";
import { dateText } from "../../format.js";
import { bounds } from "../../geom/ring.js";
import { readPiece } from "../../model/codec.js";
import * as ed from "../../state/editor.js";
import { choose } from "../../state/session.js";
import { texts } from "../../texts.js";
import { html } from "../html.js";
import { DocDrawing } from "../PieceDrawing.js";

/** @import {Doc} from "../../types" */

const T = texts.save;

export const Conflict = () => (ed.saveState.value.kind === "conflict" ? html`<${Choice} />` : null);

/** Both versions side by side; the person says which one counts. */
function Choice() {
  const box = useRef(/** @type {HTMLDialogElement | null} */ (null));
  useEffect(() => { box.current?.showModal(); }, []);
  const state = ed.saveState.value, mine = ed.settled.value;
  if (state.kind !== "conflict" || !mine) return null;
  const theirs = readPiece(state.theirs);
  const b = bounds([...mine.rings, ...theirs.rings]);
  const scale = Math.min(140 / (b.maxX - b.minX), 160 / (b.maxY - b.minY));
  /** @param {Doc} doc @param {string} title @param {string} note */
  const version = (doc, title, note) => html`<figure><${DocDrawing} doc=${doc} scale=${scale} />
    <figcaption><strong>${title}</strong><span>${doc.name}</span><span class="quiet">${T.points(doc.rings.flat().length)}</span>${note && html`<span class="quiet">${note}</span>`}</figcaption></figure>`;
  return html`<dialog ref=${box} class="slip" aria-labelledby="conflict-title" onCancel=${(/** @type {Event} */ e) => e.preventDefault()}>
    <h2 id="conflict-title">${T.conflictTitle}</h2>
    <p>${T.conflictHow}</p>
    <div class="versions">${version(mine, T.mine, "")}${version(theirs, T.theirs, dateText(state.theirs.updated_at))}</div>
    <div class="row"><button type="button" class="main" onClick=${() => choose("mine")}>${T.keepMine}</button><button type="button" onClick=${() => choose("theirs")}>${T.takeTheirs}</button></div>
  </dialog>`;
}
