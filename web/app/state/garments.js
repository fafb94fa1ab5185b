// Garments, their photos and pieces, photos on their way, and running jobs.

import { batch, signal } from "@preact/signals";
import * as api from "../api.js";
import { readPiece, writePiece } from "../model/codec.js";
import { writePrint } from "../model/print.js";
import { texts } from "../texts.js";
import { say } from "./app.js";
import { becomes, look } from "./glancing.js";
import { print } from "./printer.js";
import { explain, sayProblem } from "./problems.js";
import { sendPhoto } from "./sending.js";

/** @import {Face, Garment, GarmentSummary, Job, Lan, Print, Trashed, Upload, WirePiece} from "../types" */

export const list = signal(/** @type {GarmentSummary[] | null} */ (null));
export const trash = signal(/** @type {Trashed[]} */ ([]));
export const lan = signal(/** @type {Lan | null} */ (null));
export const garment = signal(/** @type {Garment | null} */ (null));
export const trouble = signal(/** @type {{ title: string, remedy: string } | null} */ (null));
export const pieces = signal(/** @type {ReadonlyMap<string, WirePiece>} */ (new Map()));
export const uploads = signal(/** @type {readonly Upload[]} */ ([]));
export const jobs = signal(/** @type {ReadonlyMap<string, Job>} */ (new Map()));
export const face = signal(/** @type {Face} */ (""));


export async function loadList() {
  try {
    list.value = await api.listGarments();
    trouble.value = null;
  } catch (e) {
    trouble.value = explain(e);
  }
}

export const loadTrash = () => api.listTrash().then((t) => (trash.value = t), () => (trash.value = []));

/** @param {Trashed} t */
export async function bringBack(t) {
  await api.restoreTrash(t.id).then(() => { leaving.clear(); say(texts.home.trashDone(t.name)); }, sayProblem);
  await Promise.all([loadTrash(), loadList()]);
}

/** Only the machine itself is told the link. */
export const loadLan = () => api.getLan().then((l) => (lan.value = l), () => (lan.value = null));

/** Follows a garment until the returned function is called. @param {string} id */
export function openGarment(id) {
  if (garment.value?.id !== id) batch(() => ([garment.value, pieces.value] = [null, new Map()]));
  refresh(id);
  const stop = api.followGarment(id, () => refresh(id));
  return () => {
    stop();
    for (const end of followed.values()) end();
    followed.clear();
  };
}

let asked = 0;

/** @param {string} id */
export async function refresh(id) {
  const turn = ++asked;
  try {
    const got = await api.getGarment(id);
    if (turn !== asked) return;
    const known = garment.value?.id === id ? garment.value : null;
    const before = new Set(known?.photos?.map((p) => p.id));
    batch(() => ([garment.value, trouble.value] = [got.garment, null]));
    const fresh = (got.garment.photos ?? []).filter((p) => !before.has(p.id) && !ours.has(p.id));
    // Word of a photo may come before the answer to the one who sent it.
    const sending = uploads.value.some((u) => u.garment === id && u.state === "sending");
    if (known && fresh.length > 0 && !sending) say(texts.garment.newPhoto);
    for (const p of got.garment.photos ?? []) if ((p.status === "queued" || p.status === "tracing") && p.job_id) follow(id, p.job_id);
    await loadPieces(got.garment);
  } catch (e) {
    if (turn === asked) trouble.value = explain(e);
  }
}

/** Pieces on their way into the trash, until a garment comes without them: nothing is asked of them any more. @type {Set<string>} */
const leaving = new Set();
/** What is being asked of pieces. @type {Set<Promise<unknown>>} */
const asking = new Set();

/** A piece as it is now; null where it is not to be had. @param {string} id */
export function fetchPiece(id) {
  if (leaving.has(id)) return Promise.resolve(null);
  const got = api.getPiece(id).catch(() => null);
  asking.add(got);
  void got.then(() => asking.delete(got));
  return got;
}

/** Puts a piece into the trash, when what was asked of it is answered. @param {string} id */
export async function trashPiece(id) {
  leaving.add(id);
  await Promise.all(asking);
  await api.deletePiece(id).catch((e) => { leaving.delete(id); throw e; });
}

/** Fetches the pieces that are not here in their present version. @param {Garment} g */
async function loadPieces(g) {
  const want = (g.pieces ?? []).filter((p) => pieces.value.get(p.id)?.version !== p.version);
  const got = (await Promise.all(want.map((p) => fetchPiece(p.id)))).map((a) => a?.piece);
  if (garment.value?.id !== g.id) return;
  const ids = new Set((g.pieces ?? []).map((p) => p.id));
  for (const id of leaving) if (!ids.has(id)) leaving.delete(id);
  const next = new Map([...pieces.value].filter(([id]) => ids.has(id)));
  for (const p of got) if (p) next.set(p.id, p);
  pieces.value = next;
}

/** Jobs that are being followed, by id. @type {Map<string, () => void>} */
const followed = new Map();
/** Photos that were added on this page. @type {Set<string>} */
const ours = new Set();

/** @param {string} garmentId @param {string} jobId */
function follow(garmentId, jobId) {
  if (followed.has(jobId)) return;
  followed.set(jobId, api.followJob(jobId, (job) => {
    jobs.value = new Map(jobs.value).set(jobId, job);
    if (api.finished(job)) refresh(garmentId);
  }, () => refresh(garmentId)));
}

/** @param {string} id */
export const stopJob = (id) => api.cancelJob(id).catch(sayProblem);

/** The service takes no larger files; a browser that is cut off while sending can't tell why. */
const MOST_BYTES = 64 * 2 ** 20;

/** Takes files from the chooser, a drop, or the clipboard. @param {string} garmentId @param {Iterable<File>} files */
export function addFiles(garmentId, files) {
  for (const file of files) {
    if (!api.imageType(file)) {
      say(`${file.name}: ${texts.garment.notImage}`, texts.garment.notImageRemedy);
      continue;
    }
    if (file.size > MOST_BYTES) {
      say(`${file.name}: ${texts.garment.tooLarge}`, texts.garment.tooLargeRemedy);
      continue;
    }
    const key = api.newKey();
    void look(key, file);
    send({ key, garment: garmentId, file, face: face.value, print: print.value, state: "sending" });
  }
}

/** @param {Upload} u */
export async function send(u) {
  put({ ...u, state: "sending", problem: undefined });
  try {
    const { photo, job_id } = await sendPhoto(u.garment, u.file, u.face, writePrint(u.print), u.key);
    ours.add(photo.id);
    becomes(u.key, photo.id);
    forget(u.key);
    if (garment.value?.id === u.garment) {
      follow(u.garment, job_id);
      await refresh(u.garment);
    }
  } catch (e) {
    const passing = e instanceof api.Problem && e.passing;
    put({ ...u, state: passing ? "unsent" : "rejected", problem: explain(e) });
  }
}

/** @param {Upload} u */
function put(u) {
  const rest = uploads.value;
  uploads.value = rest.some((x) => x.key === u.key) ? rest.map((x) => (x.key === u.key ? u : x)) : [...rest, u];
}

/** @param {string} key */
export const forget = (key) => (uploads.value = uploads.value.filter((u) => u.key !== key));

addEventListener("online", () => uploads.value.filter((u) => u.state === "unsent").forEach(send));
addEventListener("beforeunload", (e) => {
  if (uploads.value.some((u) => u.state !== "rejected")) e.preventDefault();
});

/** @param {string} name @returns {Promise<string | null>} the new garment's id */
export async function create(name) {
  try {
    return (await api.createGarment(name, api.newKey())).id;
  } catch (e) {
    sayProblem(e);
    return null;
  }
}

/** Takes a garment file in. @param {File} file @returns {Promise<string | null>} the new garment's id */
export async function take(file) {
  try {
    return (await api.importGarment(file, api.newKey())).id;
  } catch (e) {
    sayProblem(e);
    return null;
  }
}

/** @param {string} name */
export const renameGarment = async (name) => { if (name.trim() !== "" && name !== garment.value?.name) await editGarment({ name }); };

/** Changes what is said about the garment. @param {Partial<Garment>} edit */
export async function editGarment(edit) {
  const g = garment.value;
  if (!g) return;
  try {
    // Pieces and photos count as changes of the garment too: the newest version is asked for.
    await api.patchGarment(g.id, edit, (await api.getGarment(g.id)).etag);
  } catch (e) {
    sayProblem(e);
  }
  await refresh(g.id);
}

/** @param {string} id @returns {Promise<boolean>} */
export const removeGarment = (id) => api.deleteGarment(id).then(() => true, (e) => (sayProblem(e), false));

/** Traces a photo again whose tracing stopped. @param {string} id */
export async function traceAgain(id) {
  await api.traceAgain(id, []).catch(sayProblem);
  if (garment.value) await refresh(garment.value.id);
}

/** Makes a photo's pieces again from the start, with the strokes that helped to find them. @param {string} id */
export async function traceAnew(id) {
  const strokes = [...pieces.value.values()].filter((p) => p.photo_id === id).flatMap((p) => p.strokes ?? []);
  const each = new Map(strokes.map((s) => [JSON.stringify(s), s])); // pieces found together hold the same ones
  await api.traceAgain(id, [...each.values()], true).catch(sayProblem);
  if (garment.value) await refresh(garment.value.id);
}

/** @param {string} id @param {{ face?: Face, file_name?: string, print?: Print }} edit */
export async function editPhoto(id, { print: measured, ...edit }) {
  await api.editPhoto(id, measured ? { ...edit, print: writePrint(measured) } : edit).catch(sayProblem);
  if (garment.value) await refresh(garment.value.id);
}

/** Names a piece; what else is changed of it meanwhile stays. @param {string} id @param {string} name */
export async function renamePiece(id, name) {
  for (let tries = 0; ; tries++) {
    try {
      const { piece, etag } = await api.getPiece(id);
      await api.putPiece(id, writePiece({ ...readPiece(piece), name }), etag);
      break;
    } catch (e) {
      if (e instanceof api.Problem && e.status === 412 && tries < 3) continue;
      sayProblem(e);
      break;
    }
  }
  if (garment.value) await refresh(garment.value.id);
}

/** Puts a piece into the trash: of several in a photo not all need be one. @param {string} id */
export async function removePiece(id) {
  await trashPiece(id).catch(sayProblem);
  if (garment.value) await refresh(garment.value.id);
}

/** @param {string} id */
export async function removePhoto(id) {
  await api.deletePhoto(id).catch(sayProblem);
  if (garment.value) await refresh(garment.value.id);
}
