// The edges as a list; the chosen one opens to be named and finished.

import { signal } from "@preact/signals";
import { useEffect, useRef, useState } from "preact/hooks";
import { edgeBefore, joinEdge } from "../../actions/cutEdge.js";
import { nameEdges, setEdges, setMeans } from "../../actions/setEdge.js";
import { spans } from "../../model/edges.js";
import { nameAll, suggest } from "../../model/names.js";
import { seenAllowance } from "../../model/stitches.js";
import { traceOf } from "../../state/session.js";
import { draft, stale, trouble } from "../../state/draft.js";
import * as ed from "../../state/editor.js";
import { texts } from "../../texts.js";
import { take } from "../../tools/index.js";
import { sentence } from "../../format.js";
import { html } from "../html.js";
import { Icon } from "../icons.js";
import { LengthField, TextField, len } from "../lengths.js";
import { Near } from "./Canvas.js";
import { FinishForm, finishText } from "./FinishForm.js";

/** @import {Doc, Edge, Old, Point} from "../../types" */

const T = texts.edges, L = texts.editor.labels;

export function EdgesPanel() {
  const doc = ed.settled.value, problem = trouble.value;
  if (!doc) return null;
  if (!doc.edges) return html`<p>${doc.frame ? T.waiting : T.none}</p>`;
  const all = spans(doc), named = nameAll(doc, (k) => T.names[k]);
  return html`<section aria-labelledby="edges-title" class="edges">
    <h2 id="edges-title">${T.title}</h2>
    <fieldset class="seg-box"><legend>${T.means}</legend><div class="seg">${MEANS.map(([m, text]) => html`<label key=${m}><input type="radio" name="means" checked=${doc.means === m} onChange=${() => ed.perform(setMeans(m), L.means)} /><span>${text}</span></label>`)}</div></fieldset>
    ${problem && !problem.edge && html`<div class="note error" role="alert"><${Icon} name="error" /><div><strong>${T.noDraft}</strong><p>${problem.title}</p><p>${problem.remedy}</p></div></div>`}
    ${doc.lost.map((e) => html`<div key=${e.id} class="note warning"><${Icon} name="warning" /><div>${T.lost(e.name)}</div></div>`)}
    ${named.size > 0 && html`<button type="button" onClick=${() => ed.perform(nameEdges(named), L.nameAll)}>${T.nameAll(named.size)}</button><p class="quiet">${T.nameAllHow}</p>`}
    <ol class="edge-list">${all.map((s, i) => html`<${Row} key=${s.edge.id} doc=${doc} edge=${s.edge} n=${i + 1} />`)}</ol>
    <${Key} />
  </section>`;
}

const MEANS = /** @type {const} */ ([["cut-edge", T.meansOf["cut-edge"]], ["stitch-line", T.meansOf["stitch-line"]]]);

/** What the lines on the photo are. */
const Key = () => html`<ul class=${`line-key ${stale.value ? "stale" : ""}`}>
  <li class="cut">${T.key.cut}</li><li class="stitch">${T.key.stitch}</li><li class="fold">${T.key.fold}</li></ul>`;

/** @param {{ doc: Doc, edge: Edge, n: number }} props */
function Row({ doc, edge: e, n }) {
  const on = ed.edgeId.value === e.id, box = useRef(/** @type {HTMLLIElement | null} */ (null));
  const drawn = draft.value?.edges.find((d) => d.id === e.id), bad = trouble.value?.edge === e.id ? trouble.value : null;
  useEffect(() => { if (on) box.current?.scrollIntoView({ block: "nearest" }); }, [on]);
  const asks = needsOld(doc, e);
  return html`<li ref=${box} class=${on ? "on" : ""}>
    <button type="button" class="edge-head" aria-expanded=${on} onClick=${() => { ed.edgeId.value = on ? null : e.id; ed.spot.value = null; }}>
      <span class="round">${n}</span><span class="edge-name"><strong>${e.name}</strong><span class="quiet">${finishText(e.finish)}${drawn ? `, ${T.length} ${len(drawn.length_mm)}` : ""}</span></span>
      ${(asks || bad) && html`<${Icon} name=${bad ? "error" : "warning"} /><span class="sr">${bad ? bad.title : T.oldIs.unknown}</span>`}
      <${Icon} name=${on ? "up" : "next"} /></button>
    ${bad && html`<div class="note error" role="alert"><${Icon} name="error" /><div><strong>${bad.title}</strong><p>${bad.remedy}</p></div></div>`}
    ${on && html`<${Form} doc=${doc} edge=${e} />`}
  </li>`;
}

/** Whether the new finish can't be drawn before the old allowance is known. @param {Doc} doc @param {Edge} e */
const needsOld = (doc, e) => doc.means === "cut-edge" && e.old.is === "unknown" && e.finish.kind !== "keep" && e.finish.kind !== "fold";

/** @param {{ doc: Doc, edge: Edge }} props */
function Form({ doc, edge: e }) {
  const only = new Set([e.id]), names = suggest(doc, e.id).map((k) => T.names[k]).filter((n) => n !== e.name);
  const before = edgeBefore(doc, e.id);
  return html`<div class="edge-form">
    <${TextField} label=${T.name} value=${e.name} change=${(/** @type {string} */ v) => v && ed.perform(setEdges(only, { name: v }), L.edgeName)} />
    <div class="chips" role="group" aria-label=${T.suggest}>${names.map((n) => html`<button type="button" key=${n} class="chip" onClick=${() => ed.perform(setEdges(only, { name: n }), L.edgeName)}>${n}</button>`)}</div>
    ${doc.means === "cut-edge" && html`<${OldForm} doc=${doc} edge=${e} />`}
    <${FinishForm} edge=${e} />
    <${Found} edge=${e} />
    <${Ends} doc=${doc} edge=${e} />
    ${before && html`<button type="button" class="plain" onClick=${() => { ed.perform(joinEdge(e.id), L.joinEdge); ed.edgeId.value = before.id; }}><${Icon} name="join" />${T.join(before.name)}</button>`}
  </div>`;
}

const OLD = /** @type {const} */ (["unknown", "length", "none"]);
const USUAL_OLD = 10;

/** @param {{ doc: Doc, edge: Edge }} props */
function OldForm({ doc, edge: e }) {
  const only = new Set([e.id]), others = doc.edges?.filter((x) => x.id !== e.id && x.old.is === "unknown") ?? [];
  const seen = seenAllowance(doc, e.id, traceOf(doc)), taken = seen && e.old.is === "length" && Math.abs(e.old.mm - seen.mm) < 0.06;
  /** @param {Old} old */
  const set = (old) => ed.perform(setEdges(only, { old }), L.edgeOld);
  return html`<fieldset class="old"><legend>${T.old}</legend>
    <div class="seg">${OLD.map((is) => html`<label key=${is}><input type="radio" name=${`old-${e.id}`} checked=${e.old.is === is} onChange=${() => set(is === "length" ? { is, mm: USUAL_OLD } : { is })} /><span>${T.oldIs[is]}</span></label>`)}</div>
    ${seen && html`<p class="note"><span>${T.oldSeen(len(seen.mm), seen.sure)} ${taken ? "" : html`<button type="button" onClick=${() => set({ is: "length", mm: Math.round(seen.mm * 10) / 10 })}>${T.oldTake(len(seen.mm))}</button>`}</span></p>`}
    ${e.old.is === "length" && html`<${LengthField} label=${T.oldWidth} value=${e.old.mm} most=${300} change=${(/** @type {number} */ mm) => set({ is: "length", mm: Math.round(mm * 100) / 100 })} />`}
    ${needsOld(doc, e) && html`<p class="note warning old-asked"><span>${T.oldAsked}</span></p>`}
    <div class="row">${ed.photo.value && html`<button type="button" onClick=${() => take("measure")}><${Icon} name="measure" />${T.oldMeasure}</button>`}
    ${e.old.is !== "unknown" && others.length > 0 && html`<button type="button" onClick=${() => ed.perform(setEdges(new Set(others.map((x) => x.id)), { old: e.old }), L.edgeOld)}>${T.oldForAll}</button>`}</div>
    <p class="quiet">${T.oldHow}</p>
  </fieldset>`;
}

/** Both corners of the edge, enlarged: there two finishes meet. @param {{ doc: Doc, edge: Edge }} props */
function Ends({ doc, edge: e }) {
  const all = spans(doc), i = all.findIndex((s) => s.edge.id === e.id), s = all[i];
  if (!s || all.length < 2 || !draft.value) return null;
  const ends = [{ at: s.chain[0].a, label: T.cornerTo(all[(i + all.length - 1) % all.length].edge.name) }, { at: s.chain[s.chain.length - 1].d, label: T.cornerTo(all[(i + 1) % all.length].edge.name) }];
  return html`<h3>${T.corners}</h3><div class="row nears">${ends.map((e) => html`<figure key=${e.label} class="near"><button type="button" aria-label=${T.enlarge(e.label)} title=${T.enlarge(e.label)} onClick=${() => (corner.value = e)}><${Near} at=${e.at} /></button><figcaption class="quiet">${e.label}</figcaption></figure>`)}</div><${Corner} />`;
}

/** The corner that is shown large. */
const corner = signal(/** @type {{ at: Point, label: string } | null} */ (null));

/** A corner as large as the window has room for, with what is drawn there. */
function Corner() {
  const c = corner.value, box = useRef(/** @type {HTMLDialogElement | null} */ (null)), [zoom, setZoom] = useState(1);
  useEffect(() => { if (c) { setZoom(1); box.current?.showModal(); } }, [c]);
  if (!c) return null;
  const px = Math.max(200, Math.min(innerWidth - 60, innerHeight - 230, 620));
  return html`<dialog ref=${box} class="slip" aria-label=${c.label} onClose=${() => (corner.value = null)}>
    <div class="row spread"><strong>${sentence(c.label)}</strong><button type="button" class="plain" aria-label=${texts.close} onClick=${() => box.current?.close()}><${Icon} name="closeX" /></button></div>
    <${Near} at=${c.at} px=${px} scale=${(px / 62) * zoom} />
    <label class="slide">${T.nearer}<input type="range" min="0.5" max="6" step="0.25" value=${zoom} onInput=${(/** @type {any} */ e) => setZoom(+e.currentTarget.value)} /><output>${len(62 / zoom)}</output></label>
    <${Key} /></dialog>`;
}

/** What the service noticed at the edge. @param {{ edge: Edge }} props */
function Found({ edge: e }) {
  const mine = draft.value?.findings.filter((f) => f.edge === e.id) ?? [];
  return mine.map((f, i) => html`<div key=${i} class=${`note ${f.severity}`}><${Icon} name=${f.severity} /><div><strong>${f.message}</strong>${f.remedy && html`<p>${f.remedy}</p>`}</div></div>`);
}
