// One visit to the piece editor: loads the piece and its photo, keeps it saved,
// traces again with strokes, and takes in what other devices change.

import { batch, effect, signal, untracked } from "@preact/signals";
import { takeOutline } from "../actions/takeOutline.js";
import * as api from "../api.js";
import { measure } from "../geom/ring.js";
import { splice } from "../geom/splice.js";
import { distance } from "../geom/vec.js";
import * as steps from "../history.js";
import { freeze, freshId } from "../model/doc.js";
import { readPiece, readTraced, writeStrokes } from "../model/codec.js";
import { readPlan } from "../model/plan.js";
import { texts } from "../texts.js";
import { recall, remember, say } from "./app.js";
import * as ed from "./editor.js";
import { fetchPiece, trashPiece } from "./garments.js";
import { explain, sayProblem } from "./problems.js";
import { createSaver, equal } from "./saver.js";

/** @import {Doc, Ring, Trace, WirePiece, WireTracedPiece} from "../types" */

const L = texts.editor.labels;

/** Why the piece could not be opened, or null. */
export const trouble = signal(/** @type {{ title: string, remedy: string } | null} */ (null));

/** @type {ReturnType<typeof createSaver> | null} */
let saver = null;
let stops = /** @type {(() => void)[]} */ ([]);

/** Whether this visit itself is changing or removing the piece on the service, and so needs no news of that. */
let away = false;

let visit = 0;

/** @param {string} id */
const draftKey = (id) => `secondcut.unsent.${id}`;

/** Tells the drafts of this visit from those of another tab. */
const VISIT = api.newKey();

/** Keeps a draft, or forgets it unless another tab wrote it. @param {string} id @param {{ etag: string, edit: unknown } | null} draft */
function keep(id, draft) {
  if (draft) remember(draftKey(id), JSON.stringify({ ...draft, visit: VISIT }));
  else if (readDraft(id)?.visit === VISIT) remember(draftKey(id), null);
}

/** What an earlier visit could not send. @param {string} id @returns {{ etag: string, edit: any, visit: string } | null} */
function readDraft(id) {
  try {
    return JSON.parse(recall(draftKey(id)) ?? "null");
  } catch {
    return null;
  }
}

/** @param {string} id */
export async function open(id) {
  close();
  away = false;
  const mine = ++visit;
  batch(() => ([ed.history.value, ed.piece.value, ed.photo.value, trouble.value, ed.retracing.value] = [null, null, null, null, null]));
  try {
    const { piece, etag } = await api.getPiece(id);
    if (mine !== visit) return;
    start(piece, etag);
    if (piece.photo_id) ed.photo.value = await api.getPhoto(piece.photo_id).catch(() => null);
  } catch (e) {
    if (mine === visit) trouble.value = explain(e);
  }
}

/** @param {WirePiece} piece @param {string} etag */
function start(piece, etag) {
  const doc = readPiece(piece);
  const id = piece.id;
  if (piece.version === 1) untouched.add(doc.rings[0]);
  const s = saver = createSaver({
    put: (edit, tag) => api.putPiece(id, edit, tag),
    keep: (draft) => keep(id, draft),
    tell: (state) => { if (s === saver) ed.saveState.value = state; },
    stored: (now, tag, sent) => { if (s === saver) stored(now, tag, sent); },
    explain: (f) => texts.save.faults[/** @type {keyof typeof texts.save.faults} */ (f)] ?? f,
    later: (run, ms) => { const t = setTimeout(run, ms); return () => clearTimeout(t); },
  }, doc, etag);
  batch(() => {
    ed.piece.value = piece;
    ed.history.value = steps.begin(doc, L.open);
    ed.select([]);
    ed.saveState.value = { kind: "saved" };
    [ed.edgeId.value, ed.spot.value, ed.markId.value, ed.stretch.value, ed.placing.value, ed.tape.value] = [null, null, null, null, null, []];
  });
  takeDraft(piece, doc, etag);
  const now = () => void saver?.flush();
  addEventListener("online", now);
  addEventListener("pagehide", now);
  stops = [
    effect(() => {
      if (ed.dragging.value || !ed.doc.value) return;
      saver?.edit(ed.doc.value);
      untracked(keepFrame);
    }),
    () => { removeEventListener("online", now); removeEventListener("pagehide", now); },
  ];
}

/** The service may have laid the edges on a new outline, or turned the piece's frame. @param {WirePiece} now @param {string} tag @param {Doc} sent */
function stored(now, tag, sent) {
  ed.piece.value = now;
  const here = ed.doc.value;
  if (!here || ed.dragging.value) return;
  if (here === sent && sent.edges === null && now.edges?.length) {
    const next = readPiece(now);
    saver?.rebase(next, tag, next);
    ed.select([]);
    ed.exchange(next);
  } else keepFrame();
}

/** Marks are written in the frame that the service has now, also after an undo. */
function keepFrame() {
  const here = ed.doc.value, frame = ed.piece.value && readPlan(ed.piece.value, []).frame;
  if (here?.frame && frame && (here.frame.turn !== frame.turn || here.frame.move.x !== frame.move.x || here.frame.move.y !== frame.move.y)) ed.exchange(freeze({ ...here, frame }));
}

/** Brings back what was not sent on an earlier visit. @param {WirePiece} piece @param {Doc} doc @param {string} etag */
function takeDraft(piece, doc, etag) {
  const draft = readDraft(piece.id);
  if (!draft) return;
  const theirs = readPiece({ ...piece, ...draft.edit });
  if (equal(theirs, doc)) return void remember(draftKey(piece.id), null);
  ed.perform(() => theirs, L.visit);
  say(texts.editor.unsentFound);
  if (draft.etag !== etag) saver?.conflict(piece, etag);
}

/** Something of the garment changed: another device may have saved this piece. */
export async function takeIn() {
  const s = saver, id = ed.piece.value?.id;
  if (!s || !id || !s.clean() || away) return;
  const got = await fetchPiece(id);
  if (!got || s !== saver || !s.clean() || ed.dragging.value || got.piece.version <= (ed.piece.value?.version ?? 0)) return;
  const now = ed.doc.value, next = readPiece(got.piece);
  ed.piece.value = got.piece;
  if (!now || equal(now, next)) return now ? s.rebase(now, got.etag, now) : undefined;
  s.rebase(next, got.etag, next);
  ed.perform(() => next, texts.editor.other);
  say(texts.editor.fresh);
}

export function close() {
  void saver?.flush();
  saver?.close();
  saver = null;
  stops.forEach((f) => f());
  stops = [];
  ed.cancelDrag();
}

/** Saves at once; true when the service holds everything. */
export const saveNow = async () => (saver ? saver.flush() : false);

/** Settles a conflict. @param {"mine" | "theirs"} which */
export function choose(which) {
  const state = ed.saveState.value, now = ed.doc.value;
  if (state.kind !== "conflict" || !now || !saver) return;
  const theirs = readPiece(state.theirs);
  ed.piece.value = state.theirs;
  saver.rebase(theirs, state.etag, which === "mine" ? now : theirs);
  if (which === "theirs") ed.perform(() => theirs, L.theirs);
}

let stopTrace = () => {};

/** Traces the photo again with all strokes and takes the piece that is nearest to this one. */
export async function retrace() {
  const doc = ed.doc.value, photo = ed.piece.value?.photo_id;
  if (!doc || !photo || doc.strokes.length === 0) return;
  stopTrace();
  const mine = visit;
  let over = false;
  stopTrace = () => { over = true; };
  ed.retracing.value = { text: "" };
  const end = () => { ed.retracing.value = null; };
  try {
    const job = await api.traceAgain(photo, writeStrokes(doc));
    if (over || mine !== visit) return;
    const stop = api.followJob(job, (j) => {
      if (over || mine !== visit) return stop();
      if (!api.finished(j)) return void (ed.retracing.value = { text: j.step?.text ?? "" });
      end();
      if (j.status === "done" && j.trace) took(j.trace, job, doc.strokes);
      else if (j.refusal) say(j.refusal.message, j.refusal.remedy);
    }, (p) => { end(); sayProblem(p); });
    stopTrace = () => { over = true; stop(); void api.cancelJob(job).catch(() => {}); };
  } catch (e) {
    end();
    sayProblem(e);
  }
}

export function cancelRetrace() {
  stopTrace();
  ed.retracing.value = null;
}

/** What a trace said beside the outline, and the job that made it, by the certainty that came with it: undo finds the old one again. @type {WeakMap<object, { trace: Trace, job: string }>} */
const traces = new WeakMap();

/** The trace that an outline comes from. @param {Doc} doc */
export const traceOf = (doc) => traces.get(doc.sure)?.trace ?? ed.photo.value?.trace ?? null;

/** The job of the trace that an outline comes from; empty for the first one of its photo. @param {Doc} doc */
export const jobOf = (doc) => traces.get(doc.sure)?.job ?? "";

/** Notes what an outline comes from, by its certainty, and that no hand has touched it. @param {Doc["sure"]} sure @param {Trace} trace @param {string} job @param {Ring} outer */
export function cameFrom(sure, trace, job, outer) {
  traces.set(sure, { trace, job });
  untouched.add(outer);
}

/** The outline that the tracer saw of this piece, or null. @param {Doc} doc @returns {readonly Ring[] | null} */
export function tracedRings(doc) {
  const best = nearestPiece(traceOf(doc)?.pieces ?? [], doc);
  return best ? readTraced(best, freshId(doc)).rings : null;
}

/** What the photo shows of a piece's edges, with the clean edges that were made of it; null where the trace did not keep it. @param {Doc} doc */
export function seenOf(doc) {
  const best = nearestPiece(traceOf(doc)?.pieces ?? [], doc);
  return best?.seen?.length ? { seen: best.seen, rings: readTraced(best, 0).rings } : null;
}

/** Outlines that no hand has touched since they were traced. @type {WeakSet<Ring>} */
const untouched = new WeakSet();

/**
 * Takes the outline over: as a whole where nothing was moved by hand, else only
 * where the strokes are. Strokes that were undone in the meantime count no more.
 * @param {Trace} trace @param {string} job @param {Doc["strokes"]} strokes
 */
function took(trace, job, strokes) {
  const doc = ed.doc.value;
  if (!doc || doc.strokes !== strokes) return;
  const best = nearestPiece(trace.pieces, doc);
  if (!best) return say(texts.editor.retraceNone);
  const { rings, sure } = readTraced(best, freshId(doc));
  cameFrom(sure, trace, job, rings[0]);
  const hand = !untouched.has(doc.rings[0]);
  const outer = hand ? splice(doc.rings[0], rings[0], strokes, freshId(doc) + rings.flat().length) : null;
  const take = takeOutline(outer ? [outer, ...rings.slice(1)] : rings, sure);
  // A stroke and what came of it are one step.
  const before = ed.history.value?.past.at(-1);
  if (before && before.doc.strokes !== strokes) ed.exchange(take(doc));
  else ed.perform(take, L.trace);
  say(outer ? texts.editor.retracedPart : texts.editor.retraced);
}

/**
 * The traced piece whose middle is nearest to the present outline's, if it is
 * no farther than that outline is wide.
 * @param {readonly WireTracedPiece[]} pieces @param {Doc} doc
 */
export function nearestPiece(pieces, doc) {
  const here = measure(doc.rings[0]), reach = Math.sqrt(Math.abs(here.area));
  /** @param {WireTracedPiece} p */
  const far = (p) => distance(measure(freeze(readTraced(p, 0)).rings[0]).centre, here.centre);
  const near = pieces.map((p) => ({ p, d: far(p) })).sort((a, b) => a.d - b.d)[0];
  return near && near.d < reach ? near.p : null;
}

/** The versions of the piece, the present one first. */
export const versions = () => api.listVersions(ed.piece.value?.id ?? "").catch((e) => (sayProblem(e), []));

/** Brings an earlier version back, as a step that can be undone. @param {number} n */
export async function bringBack(n) {
  const id = ed.piece.value?.id;
  if (!id || !saver || !(await saveNow())) return say(texts.editor.downloadUnsaved);
  away = true;
  try {
    const { piece, etag } = await api.restoreVersion(id, n, saver.etag());
    const next = readPiece(piece);
    ed.piece.value = piece;
    saver.rebase(next, etag, next);
    ed.perform(() => next, L.version);
  } catch (e) {
    sayProblem(e);
  } finally {
    away = false;
  }
}

/** Moves the piece into the trash; true when it is gone. */
export async function remove() {
  const id = ed.piece.value?.id;
  if (!id) return false;
  away = true;
  try {
    await trashPiece(id);
  } catch (e) {
    away = false;
    sayProblem(e);
    return false;
  }
  saver?.close();
  saver = null;
  remember(draftKey(id), null);
  return true;
}

/** Downloads a file of the piece, or of its whole garment, as it is now. @param {"piece" | "garment"} what @param {Record<string, string>} options format, paper and so on */
export async function download(what, options) {
  const p = ed.piece.value;
  if (!p) return;
  if (!(await saveNow())) return say(texts.editor.downloadUnsaved);
  const a = document.createElement("a");
  a.href = what === "piece" ? api.exportURL(p.id, options) : api.garmentURL(p.garment_id, options);
  a.download = "";
  a.click();
}
