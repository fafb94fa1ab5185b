// What one can do: the tools of the step, what is going on, undo and zoom.

import { commands, run, toolsOf } from "../../commands.js";
import { lengthText } from "../../format.js";
import { step } from "../../state/app.js";
import * as ed from "../../state/editor.js";
import { cancelRetrace } from "../../state/session.js";
import { texts } from "../../texts.js";
import { take } from "../../tools/index.js";
import { html } from "../html.js";
import { Icon } from "../icons.js";
import { MarkOffer, PlaceOffer } from "./MarkOffer.js";
import { EdgeOffer } from "./EdgeOffer.js";
import { StretchOffer } from "./StretchOffer.js";
import { TapeOffer } from "./TapeOffer.js";

const T = texts.editor;

/** Undo, redo and zoom, in the corners of the photo. */
export const Corners = () => html`
  <div class="corner-buttons at-left">
    <${Do} id="undo" icon="undo" title=${titleOf("undo")} bare=${true} />
    <${Do} id="redo" icon="redo" title=${titleOf("redo")} bare=${true} />
  </div>
  <div class="corner-buttons at-right">
    <${Do} id="zoomIn" icon="plus" bare=${true} /><${Do} id="zoomOut" icon="minus" bare=${true} /><${Do} id="fit" icon="fit" bare=${true} />
  </div>`;

/** The tools of the step with what is going on above them; steps of one tool show only the latter. */
export function Bench() {
  if (step.value === "print" || step.value === "check") return null;
  const tools = step.value === "photo" || step.value === "outline" ? toolsOf(step.value) : [];
  return html`<div class="bench">
    <${Offer} />
    ${tools.length > 1 && html`<div class="tools" role="group" aria-label=${T.tools}>
      ${tools.map((t) => html`<button type="button" key=${t} aria-pressed=${ed.toolName.value === t} onClick=${() => take(t)}><${Icon} name=${t} /><span>${T.tool[/** @type {"look"} */ (t)]}</span></button>`)}
    </div>`}
  </div>`;
}

/** @param {"undo" | "redo"} id */
function titleOf(id) {
  const label = ed[id === "undo" ? "undoable" : "redoable"].value;
  return label === null ? T[id] : T[id === "undo" ? "undoOf" : "redoOf"](label);
}

/**
 * A button of a command. A reason why it can't be done is said when it is pressed.
 * @param {{ id: string, icon: string, bare?: boolean, title?: string, main?: boolean }} props
 */
export function Do({ id, icon, bare = false, title, main = false }) {
  const c = commands[id], label = c.label(), why = c.disabled?.() ?? null;
  return html`<button type="button" class=${main ? "main" : ""} aria-label=${bare ? title || label : undefined} title=${title || label} aria-disabled=${why !== null} onClick=${() => run(id)}>
    <${Icon} name=${icon} />${!bare && html`<span>${label}</span>`}</button>`;
}

/** One line: a running trace, what the tool in hand has begun, the selection, or a hint. */
function Offer() {
  const tool = ed.toolName.value;
  if (ed.retracing.value) return html`<div class="offer" role="status"><span class="what"><${Icon} name="dots" />${T.tracing}${ed.retracing.value.text && html`<span class="quiet"> – ${ed.retracing.value.text}</span>`}</span>
    <button type="button" onClick=${cancelRetrace}>${texts.garment.stop}</button></div>`;
  if (tool === "cloth" || tool === "not-cloth") return html`<${BrushOffer} hint=${T.hint[tool]} />`;
  if (tool === "stretch") return html`<${StretchOffer} />`;
  if (tool === "axis") return html`<div class="offer"><span class="what" role="status">${texts.stretch.pickHow}</span><button type="button" onClick=${() => take("stretch")}>${texts.cancel}</button></div>`;
  if (tool === "measure") return html`<${TapeOffer} />`;
  if (tool === "edge") return html`<${EdgeOffer} />`;
  if (tool === "place") return html`<${PlaceOffer} />`;
  if (tool === "mark") return html`<${MarkOffer} />`;
  if (step.value === "outline" && ed.selection.value.size > 0) return html`<${PointOffer} />`;
  return html`<div class="offer"><span class="what quiet">${step.value === "photo" && !ed.photo.value ? T.noPhoto : T.hint[/** @type {"look" | "move" | "add"} */ (tool)]}</span>${tool === "move" && html`<${Snap} />`}</div>`;
}

/** @param {{ hint: string }} props */
export function BrushOffer({ hint }) {
  return html`<div class="offer">
    <span class="what quiet">${hint}</span>
    <div class="row brush"><label class="inline">${T.brushSize} <input type="range" min="2" max="60" step="1" value=${ed.brushWidth.value} onInput=${(/** @type {any} */ e) => (ed.brushWidth.value = +e.currentTarget.value)} />
      <output>${lengthText(ed.brushWidth.value, 0)}</output></label>
    ${commands.clearStrokes.available?.() && html`<${Do} id="clearStrokes" icon="bin" />`}</div>
  </div>`;
}

/** Whether what is dragged snaps; what it agrees with now is said beside it. */
const Snap = () => html`<button type="button" class="snap" aria-pressed=${ed.snapping.value} aria-label=${texts.snap.label} title=${`${texts.snap.on} (S)`} onClick=${() => run("snap")}><${Icon} name="snap" /></button>`;

/** What the dragged point agrees with, in words. */
export const agreed = () => (ed.agrees.value?.on ?? []).map((g) => texts.snap.why[g.why](g.name ?? "")).join(", ");

/** @param {{ corner: boolean }} props */
const Agreed = ({ corner }) => html`<span class="quiet">${agreed() || (corner ? T.corner : T.smooth)}</span>`;

function PointOffer() {
  const p = ed.still.value, doc = ed.settled.value;
  const what = p && doc ? T.pointN(p.index + 1, doc.rings[p.ring].length) : T.pointsN(ed.selection.value.size);
  return html`<div class="offer at-points">
    <span class="what"><strong>${what}</strong>${p && html`<${Agreed} corner=${p.knot.corner} />`}</span>
    <div class="row">
      ${p && html`<${Do} id="prev" icon="prev" bare=${true} /><${Do} id="next" icon="next" bare=${true} />
        <${Do} id="corner" icon=${p.knot.corner ? "smooth" : "corner"} />
        <${Do} id="segment" icon=${commands.segment.label() === T.toLine ? "line" : "curve"} />`}
      <${Do} id="deleteKnots" icon="bin" />${ed.toolName.value === "move" && html`<${Snap} />`}
    </div>
  </div>`;
}
