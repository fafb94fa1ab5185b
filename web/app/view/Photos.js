// Photos of a garment: adding them, their progress, and what was wrong.

import * as api from "../api.js";
import * as store from "../state/garments.js";
import { advice, sentAs } from "../state/glancing.js";
import { texts } from "../texts.js";
import { NameField } from "./App.js";
import { html } from "./html.js";
import { Icon } from "./icons.js";
import { PrintOf, PrinterFold } from "./Printer.js";

/** @import {Face, Garment, Job, Photo, Upload} from "../types" */

const T = texts.garment, K = texts.known;
const FACES = /** @type {Face[]} */ (["right", "wrong", ""]);
/** The steps in the order in which the service takes them. */
const STEPS = ["read", "cards", "calibrate", "rectify", "segment", "trace", "fit"];

/** @param {{ garment: Garment }} props */
export function Photos({ garment }) {
  const waiting = store.uploads.value.filter((u) => u.garment === garment.id);
  return html`<section aria-labelledby="photos-title">
    <h2 id="photos-title">${T.photos}</h2>
    <${Add} id=${garment.id} />
    <ul class="photos" aria-live="polite">
      ${waiting.map((u) => html`<li key=${u.key} class="slip"><${Waiting} upload=${u} /></li>`)}
      ${[...(garment.photos ?? [])].reverse().map((p) => html`<li key=${p.id} class="slip"><${One} photo=${p} /></li>`)}
    </ul>
  </section>`;
}

/** @param {{ id: string }} props */
function Add({ id }) {
  /** @param {Event} e */
  const take = (e) => {
    const el = /** @type {HTMLInputElement} */ (e.currentTarget);
    store.addFiles(id, [...(el.files ?? [])]);
    el.value = "";
  };
  return html`<div class="slip add">
    <h3>${T.addTitle}</h3>
    <p>${T.addHow}</p>
    <p class="quiet">${T.addCaution}</p>
    <fieldset class="faces"><legend>${T.face}</legend>
      ${FACES.map((f) => html`<label key=${f}>
        <input type="radio" name="face" checked=${store.face.value === f} onChange=${() => (store.face.value = f)} /><span>${T.faceOf[f]}</span></label>`)}
    </fieldset>
    <div class="row">
      <label class="button main"><${Icon} name="picture" />${T.choose}
        <input class="file" type="file" accept="image/*,.heic,.heif" multiple onChange=${take} /></label>
      <label class="button only-touch"><${Icon} name="camera" />${T.camera}
        <input class="file" type="file" accept="image/*" capture="environment" onChange=${take} /></label>
      <span class="quiet only-mouse">${T.drop}</span>
    </div>
    <${PrinterFold} />
  </div>`;
}

/** @param {{ upload: Upload }} props */
function Waiting({ upload: u }) {
  return html`<div class="photo-text">
    <strong>${u.file.name}</strong>
    ${u.state === "sending" && html`<p class="state"><${Icon} name="dots" />${T.sending}</p>`}
    <${Looks} of=${u.key} />
    ${u.state !== "sending" && html`<div class="note warning"><${Icon} name="warning" /><div>
      <strong>${u.problem?.title}</strong><p>${u.problem?.remedy}</p>${u.state === "unsent" && html`<p>${T.unsent}</p>`}
      <div class="row">
        ${u.state === "unsent" && html`<button type="button" class="main" onClick=${() => store.send(u)}>${texts.again}</button>`}
        <button type="button" onClick=${() => store.forget(u.key)}>${texts.remove}</button>
      </div></div></div>`}
  </div>`;
}

/** @param {{ photo: Photo }} props */
function One({ photo: p }) {
  const job = p.job_id ? store.jobs.value.get(p.job_id) : undefined;
  const busy = p.status === "queued" || p.status === "tracing";
  return html`
    <img class="thumb" src=${api.imageURL(p.id)} alt="" loading="lazy" width="120" height="90" />
    <div class="photo-text">
      <${NameField} value=${p.file_name} label=${T.renamePhoto} change=${(/** @type {string} */ v) => store.editPhoto(p.id, { file_name: v })} class="small" />
      <label class="inline upside"><span class="sr">${T.face}</span>
        <select value=${p.face} onChange=${(/** @type {any} */ e) => store.editPhoto(p.id, { face: e.currentTarget.value })}>
          ${FACES.map((f) => html`<option key=${f} value=${f} selected=${f === p.face}>${T.faceSaid[f]}</option>`)}
        </select></label>
      ${busy && html`<${Progress} job=${job} />`}
      ${p.status === "traced" && html`<p class="state"><${Icon} name="check" />${T.traced}</p>${(store.garment.value?.pieces ?? []).filter((x) => x.photo_id === p.id).map((x) => html`<a key=${x.id} class="button look" href=${`#/piece/${x.id}`}>${T.seeOutline(x.name)}</a>`)}`}
      ${!busy && html`<${PrintOf} photo=${p} />`}
      ${!busy && p.references && html`<p class="quiet">${K.said(p.references.map((r) => K.kind[r.kind]).join(", "))}</p><a class="button" href=${`#/known/${p.id}`}>${K.change}</a>`}
      ${!busy && html`<button type="button" class="plain" aria-label=${T.deletePhoto(p.file_name)} onClick=${() => confirm(T.deletePhotoAsk(p.file_name)) && store.removePhoto(p.id)}><${Icon} name="bin" />${texts.remove}</button>`}
    </div>
      <${Looks} of=${sentAs(p.id)} />
      ${p.status === "refused" && html`<${Refused} title=${T.refusedTitle} refusal=${p.refusal} paint=${p.plane ? p.id : ""} known=${p.refusal?.code === "no-card" && !p.references ? p.id : ""} />`}
      ${p.status === "traced" && p.refusal && html`<${Refused} title=${T.againTitle} refusal=${p.refusal} />`}
      ${p.status === "failed" && html`<${Refused} title=${T.failedTitle} refusal=${p.refusal ?? { message: texts.unknownProblem, remedy: texts.unknownRemedy }} again=${() => store.traceAgain(p.id)} paint=${p.plane ? p.id : ""} />`}`;
}

/** What can be told of a photo at first sight. @param {{ of: string }} props the key of its upload */
const Looks = ({ of }) => html`${(advice.value.get(of) ?? []).map((a) => html`<div class="note info" key=${a}><${Icon} name="info" /><div><strong>${T.looks[a].what}</strong><p>${T.looks[a].remedy}</p></div></div>`)}`;

/** Where the cards were found, the person can show where the cloth is. @param {{ title: string, refusal?: { message: string, remedy: string } | null, again?: () => void, paint?: string, known?: string }} props */
const Refused = ({ title, refusal, again, paint, known }) => html`<div class="note error"><${Icon} name="error" /><div>
  <strong>${title}</strong><p>${refusal?.message}</p><p class="remedy">${refusal?.remedy}</p>
  ${paint && html`<p>${T.paintHow}</p><a class="button" href=${`#/photo/${paint}`}><${Icon} name="cloth" />${T.paint}</a>`}
  ${known && html`<p>${K.none}</p><a class="button" href=${`#/known/${known}`}><${Icon} name="measure" />${K.open}</a>`}
  ${again && html`<button type="button" onClick=${again}>${T.traceAgain}</button>`}</div></div>`;

/** @param {{ job: Job | undefined }} props */
function Progress({ job }) {
  const step = job?.step;
  const now = step ? Math.max(STEPS.indexOf(step.name), 0) : -1;
  if (!job || now < 0) return html`<p class="state"><${Icon} name="dots" />${T.queued}</p>`;
  return html`<div class="progress">
    <ol aria-label=${T.steps}>${T.stepNames.map((name, i) => {
      const [icon, word] = i < now ? ["check", T.stepDone] : i === now ? ["now", T.stepNow] : ["later", T.stepLater];
      return html`<li key=${name} class=${icon} aria-current=${i === now ? "step" : undefined}><${Icon} name=${icon} /><span>${name}</span><span class="sr"> (${word})</span></li>`;
    })}</ol>
    <button type="button" onClick=${() => store.stopJob(job.id)}>${T.stop}</button>
  </div>`;
}
