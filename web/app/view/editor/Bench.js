// What one can do: the tools, what the selected point offers, undo and zoom.

import { commands, run } from "../../commands.js";
import { lengthText } from "../../format.js";
import * as ed from "../../state/editor.js";
import { cancelRetrace } from "../../state/session.js";
import { texts } from "../../texts.js";
import { take } from "../../tools/index.js";
import { html } from "../html.js";
import { Icon } from "../icons.js";

const T = texts.editor;
const TOOLS = /** @type {const} */ (["move", "add", "cloth", "not-cloth"]);

/** Undo, redo and zoom, in the corners of the photo. */
export const Corners = () => html`
  <div class="corner-buttons at-left">
    <${Do} id="undo" icon="undo" title=${titleOf("undo")} bare=${true} />
    <${Do} id="redo" icon="redo" title=${titleOf("redo")} bare=${true} />
  </div>
  <div class="corner-buttons at-right">
    <${Do} id="zoomIn" icon="plus" bare=${true} /><${Do} id="zoomOut" icon="minus" bare=${true} /><${Do} id="fit" icon="fit" bare=${true} />
  </div>`;

export const Bench = () => html`
  <div class="bench">
    <${Offer} />
    <div class="tools" role="group" aria-label=${T.tools}>
      ${TOOLS.map((t) => html`<button type="button" key=${t} aria-pressed=${ed.toolName.value === t} onClick=${() => take(t)}><${Icon} name=${t} /><span>${T.tool[t]}</span></button>`)}
    </div>
  </div>`;

/** @param {"undo" | "redo"} id */
function titleOf(id) {
  const h = ed.history.value;
  if (!h) return "";
  if (id === "undo") return h.past.length ? T.undoOf(h.present.label) : T.undo;
  return h.future.length ? T.redoOf(h.future[0].label) : T.redo;
}

/**
 * A button of a command. A reason why it can't be done is said when it is pressed.
 * @param {{ id: string, icon: string, bare?: boolean, title?: string }} props
 */
function Do({ id, icon, bare = false, title }) {
  const c = commands[id], label = c.label(), why = c.disabled?.() ?? null;
  return html`<button type="button" aria-label=${bare ? title || label : undefined} title=${title || label} aria-disabled=${why !== null} onClick=${() => run(id)}>
    <${Icon} name=${icon} />${!bare && html`<span>${label}</span>`}</button>`;
}

/** One line above the tools: a running trace, the brush, the selection, or a hint. */
function Offer() {
  const tool = ed.toolName.value;
  if (ed.retracing.value) return html`<div class="offer" role="status"><span class="what"><${Icon} name="dots" />${T.tracing}${ed.retracing.value.text && html`<span class="quiet"> – ${ed.retracing.value.text}</span>`}</span>
    <button type="button" onClick=${cancelRetrace}>${texts.garment.stop}</button></div>`;
  if (tool === "cloth" || tool === "not-cloth") return html`<${BrushOffer} hint=${T.hint[tool]} />`;
  if (ed.selection.value.size > 0) return html`<${PointOffer} />`;
  return html`<div class="offer"><span class="what quiet">${T.hint[tool]}</span></div>`;
}

/** @param {{ hint: string }} props */
export function BrushOffer({ hint }) {
  return html`<div class="offer">
    <span class="what quiet">${hint}</span>
    <label class="inline">${T.brushSize} <input type="range" min="2" max="60" step="1" value=${ed.brushWidth.value} onInput=${(/** @type {any} */ e) => (ed.brushWidth.value = +e.currentTarget.value)} />
      <output>${lengthText(ed.brushWidth.value, 0)}</output></label>
    ${commands.clearStrokes.available?.() && html`<${Do} id="clearStrokes" icon="bin" />`}
  </div>`;
}

function PointOffer() {
  const p = ed.single.value;
  const what = p ? T.pointN(p.index + 1, ed.rings.value[p.ring].length) : T.pointsN(ed.selection.value.size);
  return html`<div class="offer at-points">
    <span class="what"><strong>${what}</strong>${p && html`<span class="quiet">${p.knot.corner ? T.corner : T.smooth}</span>`}</span>
    <div class="row">
      ${p && html`<${Do} id="prev" icon="prev" bare=${true} /><${Do} id="next" icon="next" bare=${true} />
        <${Do} id="corner" icon=${p.knot.corner ? "smooth" : "corner"} />
        <${Do} id="segment" icon=${commands.segment.label() === T.toLine ? "line" : "curve"} />`}
      <${Do} id="deleteKnots" icon="bin" />
    </div>
  </div>`;
}
