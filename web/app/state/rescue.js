// Helping a photo that was refused: the person paints where the cloth is, and the
// photo is traced again with these strokes.

import { batch, signal } from "@preact/signals";
import * as api from "../api.js";
import * as steps from "../history.js";
import { freeze } from "../model/doc.js";
import { writeStrokes } from "../model/codec.js";
import { NO_PLAN } from "../model/plan.js";
import { texts } from "../texts.js";
import { go, say } from "./app.js";
import * as ed from "./editor.js";
import { explain, sayProblem } from "./problems.js";

/** Why the photo can't be painted on, or null. */
export const trouble = signal(/** @type {{ title: string, remedy: string } | null} */ (null));
/** Why it was refused. */
export const refusal = signal(/** @type {{ message: string, remedy: string } | null} */ (null));

let visit = 0;
let stopTrace = () => {};

/** @param {string} id */
export async function open(id) {
  const mine = ++visit;
  batch(() => {
    [ed.piece.value, ed.photo.value, ed.history.value, ed.retracing.value, trouble.value, refusal.value] = [null, null, null, null, null, null];
    ed.select([]);
    ed.toolName.value = "cloth";
  });
  try {
    const photo = await api.getPhoto(id);
    if (mine !== visit) return;
    if ((photo.status !== "refused" && photo.status !== "failed") || !photo.plane) return void (trouble.value = { title: texts.rescue.gone, remedy: texts.rescue.goneRemedy });
    const blank = freeze({ ...NO_PLAN, name: photo.file_name, rings: [], strokes: [], sure: { uncertainty: 0, fray: 0, unsure: [], grain: null } });
    batch(() => ([ed.photo.value, ed.history.value, refusal.value] = [photo, steps.begin(blank, texts.editor.labels.open), photo.refusal ?? null]));
  } catch (e) {
    if (mine === visit) trouble.value = explain(e);
  }
}

export function close() {
  visit++;
  stopTrace();
  batch(() => ([ed.history.value, ed.photo.value, ed.retracing.value] = [null, null, null]));
}

/** Traces with the strokes. Once that works, the garment has the pieces; else the person may paint on. */
export async function trace() {
  const doc = ed.doc.value, photo = ed.photo.value, mine = visit;
  if (!doc || !photo || ed.retracing.value) return;
  if (doc.strokes.length === 0) return say(texts.rescue.paintFirst);
  ed.retracing.value = { text: "" };
  try {
    const job = await api.traceAgain(photo.id, writeStrokes(doc));
    if (mine !== visit) return;
    stopTrace = api.followJob(job, (j) => {
      if (!api.finished(j)) return void (ed.retracing.value = { text: j.step?.text ?? "" });
      ed.retracing.value = null;
      if (j.status === "done") {
        say(texts.rescue.done);
        go(`#/garment/${photo.garment_id}`);
      } else if (j.refusal) {
        refusal.value = j.refusal;
        say(j.refusal.message, j.refusal.remedy);
      }
    }, (p) => { ed.retracing.value = null; sayProblem(p); });
  } catch (e) {
    ed.retracing.value = null;
    sayProblem(e);
  }
}
