// The piece editor: photo and outline, what can be done with them, and what is known.

import { useEffect, useRef } from "preact/hooks";
import { rename } from "../../actions/rename.js";
import { firstTool, fitAll, key, showsWhole } from "../../commands.js";
import { helpOpen, paletteOpen, step } from "../../state/app.js";
import * as board from "../../state/board.js";
import * as draft from "../../state/draft.js";
import * as presets from "../../state/presets.js";
import * as garments from "../../state/garments.js";
import { take } from "../../tools/index.js";
import * as ed from "../../state/editor.js";
import * as session from "../../state/session.js";
import { texts } from "../../texts.js";
import { NameField, Trouble } from "../App.js";
import { html } from "../html.js";
import { Icon } from "../icons.js";
import { Bench, Corners } from "./Bench.js";
import { Canvas } from "./Canvas.js";
import { Conflict } from "./Conflict.js";
import { Board } from "./Board.js";
import { CheckPanel } from "./CheckPanel.js";
import { EdgesPanel } from "./EdgesPanel.js";
import { MarksPanel } from "./MarksPanel.js";
import { OutlinePanel, Panel, PhotoPanel } from "./Panel.js";
import { PrintPanel, PrintPreview } from "./PrintPanel.js";
import { StepBar } from "./StepBar.js";

const T = texts.editor;

/** @param {{ id: string }} props */
export function Editor({ id }) {
  useEffect(() => {
    void session.open(id);
    return session.close;
  }, [id]);
  useKeys();
  const piece = ed.piece.value, trouble = session.trouble.value, name = ed.name.value;
  const at = step.value;
  useEffect(() => { if (name) document.title = `${name}, ${texts.steps[at]} – ${texts.product}`; }, [name, at]);
  useStep(piece?.id ?? "", piece?.garment_id ?? "");
  if (!piece || !ed.ready.value)
    return html`<main class="page" tabindex="-1"><a class="back" href="#/"><${Icon} name="back" />${texts.garment.back}</a>
      ${trouble ? html`<${Trouble} ...${trouble} again=${() => session.open(id)} />` : html`<p>${texts.loading}</p>`}</main>`;
  const sheet = at === "photo" || at === "outline";
  return html`<main class=${`editor ${sheet ? "" : "split"} step-${at}`} tabindex="-1">
    <header class="editor-top">
      <a class="button plain" href=${`#/garment/${piece.garment_id}`} aria-label=${T.back} title=${T.back}><${Icon} name="back" /></a>
      <h1><${NameField} value=${name} label=${T.rename} change=${(/** @type {string} */ v) => ed.perform(rename(v), T.labels.rename)} /></h1>
      <${Saved} />
      <button type="button" class="plain" aria-label=${texts.palette.open} title=${`${texts.palette.open} (/)`} onClick=${() => (paletteOpen.value = true)}><${Icon} name="search" /></button>
      <button type="button" class="plain" aria-label=${texts.help.open} title=${texts.help.open} onClick=${() => (helpOpen.value = true)}><${Icon} name="help" /></button>
    </header>
    <${StepBar} />
    <div class="table">
      ${at === "check" ? html`<${Board} piece=${piece.id} />` : at === "print" ? html`<${PrintPreview} />` : html`<div class="field"><${Canvas} label=${CANVAS[at]?.[0]} help=${CANVAS[at]?.[1]} /><${Corners} /></div>`}
      <${Bench} />
    </div>
    <${Panel} sheet=${sheet}><${PANELS[at]} /><//>
    <${Conflict} />
  </main>`;
}

/** @type {Record<import("../../state/app.js").Step, any>} */
const PANELS = { photo: PhotoPanel, outline: OutlinePanel, edges: EdgesPanel, marks: MarksPanel, check: CheckPanel, print: PrintPanel };
/** @type {Partial<Record<import("../../state/app.js").Step, [string, string]>>} */
const CANVAS = { edges: [texts.edges.canvas, texts.edges.canvasHelp], marks: [texts.marks.canvas, texts.marks.canvasHelp] };

/** What a step needs: its first tool, the cut line, and the garment around the piece. @param {string} piece @param {string} garment */
function useStep(piece, garment) {
  const at = step.value, ready = ed.ready.value;
  const seen = useRef(false);
  useEffect(() => { if (piece) return draft.follow(); }, [piece]);
  useEffect(() => { if (garment) return garments.openGarment(garment); }, [garment]);
  useEffect(() => { if (at === "edges") void presets.load(); }, [at]);
  useEffect(() => {
    take(firstTool(at));
    ed.panelOpen.value = false;
    document.querySelector(".panel-body")?.scrollTo(0, 0);
    seen.current = false;
    if (at !== "outline") ed.select([]);
  }, [at, ready]);
  const version = garments.garment.value?.version ?? 0;
  // One stream of events for all: a browser keeps only six connections to a host, over all its tabs.
  useEffect(() => {
    if (!garment || !version) return;
    void session.takeIn();
    void board.check(garment);
  }, [garment, version]);
  // A cut line that grew is shown whole, unless the person has looked closer since.
  const box = at === "edges" || at === "marks" ? draft.draft.value?.box : null;
  useEffect(() => {
    if (!box || (seen.current && !showsWhole())) return;
    fitAll();
    seen.current = true;
  }, [at, box && [box.minX, box.minY, box.maxX, box.maxY].map((v) => Math.round(v / 5)).join()]);
}

/** Keys count unless something is being typed or a dialog is open. */
export function useKeys() {
  useEffect(() => {
    /** @param {KeyboardEvent} e */
    const onKey = (e) => {
      const at = /** @type {HTMLElement} */ (e.target);
      if (e.defaultPrevented || document.querySelector("dialog[open]")) return;
      // The list of commands opens from anywhere, also while something is typed.
      if ((e.ctrlKey || e.metaKey) && e.key.toLowerCase() === "k") return void (key(e, false) && e.preventDefault());
      if (at.closest("input:not([type=range]):not([type=checkbox]), textarea, select")) return;
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
