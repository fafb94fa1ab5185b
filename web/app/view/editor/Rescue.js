// A refused photo, seen from straight above, to paint on: the editor's canvas
// without an outline, and the two brushes.

import { useEffect } from "preact/hooks";
import { helpOpen } from "../../state/app.js";
import * as ed from "../../state/editor.js";
import * as rescue from "../../state/rescue.js";
import { texts } from "../../texts.js";
import { take } from "../../tools/index.js";
import { Trouble } from "../App.js";
import { html } from "../html.js";
import { Icon } from "../icons.js";
import { BrushOffer, Corners } from "./Bench.js";
import { Canvas } from "./Canvas.js";
import { useKeys } from "./Editor.js";

const T = texts.rescue;
const BRUSHES = /** @type {const} */ (["cloth", "not-cloth"]);

/** @param {{ id: string }} props */
export function Rescue({ id }) {
  useEffect(() => {
    void rescue.open(id);
    return rescue.close;
  }, [id]);
  useKeys();
  useEffect(() => { document.title = `${T.title} – ${texts.product}`; }, []);
  const photo = ed.photo.value, trouble = rescue.trouble.value, why = rescue.refusal.value;
  if (!photo || !ed.ready.value)
    return html`<main class="page" tabindex="-1"><a class="back" href="#/"><${Icon} name="back" />${texts.garment.back}</a>
      ${trouble ? html`<${Trouble} ...${trouble} />` : html`<p>${texts.loading}</p>`}</main>`;
  return html`<main class="editor alone" tabindex="-1">
    <header class="editor-top">
      <a class="button plain" href=${`#/garment/${photo.garment_id}`} aria-label=${texts.editor.back} title=${texts.editor.back}><${Icon} name="back" /></a>
      <h1>${T.title}</h1>
      <button type="button" class="plain" aria-label=${texts.help.open} title=${texts.help.open} onClick=${() => (helpOpen.value = true)}><${Icon} name="help" /></button>
    </header>
    <div class="table">
      ${why && html`<p class="why"><strong>${why.message}</strong> <span>${why.remedy}</span></p>`}
      <div class="field"><${Canvas} label=${T.canvas} help=${T.canvasHelp} /><${Corners} /></div>
      <${Brushes} />
    </div>
  </main>`;
}

function Brushes() {
  const tool = ed.toolName.value === "not-cloth" ? "not-cloth" : "cloth", busy = ed.retracing.value;
  return html`<div class="bench">
    ${busy ? html`<div class="offer" role="status"><span class="what"><${Icon} name="dots" />${T.traceNow}${busy.text && html`<span class="quiet"> – ${busy.text}</span>`}</span></div>` : html`<${BrushOffer} hint=${T.hint[tool]} />`}
    <div class="tools three" role="group" aria-label=${texts.editor.tools}>
      ${BRUSHES.map((t) => html`<button type="button" key=${t} aria-pressed=${tool === t} onClick=${() => take(t)}><${Icon} name=${t} /><span>${texts.editor.tool[t]}</span></button>`)}
      <button type="button" class="main" disabled=${busy !== null} onClick=${rescue.trace}><${Icon} name="check" /><span>${T.trace}</span></button>
    </div>
  </div>`;
}
