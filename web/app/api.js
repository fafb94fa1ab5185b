// The service as typed calls. Nothing here keeps state but the count of open
// job streams.

/** @import {Garment, GarmentSummary, Job, Lan, Link, Me, Photo, Preset, Report, Trashed, Version, WireDraft, WirePiece, WirePrint, WireReference, WireUpload, Face} from "./types" */

const BASE = "/api/v1";

/** An answer that is no success; status 0 when there was no answer at all. */
export class Problem extends Error {
  /**
   * @param {number} status
   * @param {{ title?: string, detail?: string, code?: string, remedy?: string, current?: any, errors?: { field?: string, location?: string, message?: string }[] }} body
   */
  constructor(status, body) {
    super(body.detail || body.title || "");
    this.status = status;
    this.code = body.code ?? "";
    this.remedy = body.remedy ?? "";
    this.current = body.current ?? null;
    /** The field that was turned down, as the service names it. */
    this.field = (body.errors?.[0]?.field ?? body.errors?.[0]?.location ?? "").replace(/^body\./, "");
  }
  /** Whether trying the same again later may help. */
  get passing() {
    return this.status === 0 || this.status === 429 || this.status >= 500;
  }
}

/**
 * @param {string} method @param {string} path
 * @param {{ json?: unknown, body?: BodyInit, headers?: Record<string, string>, signal?: AbortSignal }} [opt]
 * @returns {Promise<{ data: any, etag: string }>}
 */
async function call(method, path, opt = {}) {
  /** @type {Record<string, string>} */
  const headers = { Accept: "application/json", ...opt.headers };
  let body = opt.body;
  if (opt.json !== undefined) {
    headers["Content-Type"] = "application/json";
    body = JSON.stringify(opt.json);
  }
  let res;
  try {
    res = await fetch(BASE + path, { method, headers, body, signal: opt.signal });
  } catch {
    throw new Problem(0, {});
  }
  const text = await res.text().catch(() => "");
  let data = null;
  try {
    data = text ? JSON.parse(text) : null;
  } catch {
    if (res.ok) throw new Problem(502, {});
  }
  if (!res.ok) throw new Problem(res.status, data ?? {});
  return { data, etag: res.headers.get("ETag") ?? "" };
}

/** @param {string} v */
const esc = encodeURIComponent;

/** A key by which the service knows a repeated request. */
export function newKey() {
  // randomUUID is missing where the page comes over plain HTTP from another machine.
  const b = crypto.getRandomValues(new Uint8Array(16));
  return Array.from(b, (v) => v.toString(16).padStart(2, "0")).join("");
}

/** @returns {Promise<GarmentSummary[]>} */
export const listGarments = async () => (await call("GET", "/garments")).data.items ?? [];

/** @param {string} name @param {string} key @returns {Promise<Garment>} */
export const createGarment = async (name, key) =>
  (await call("POST", "/garments", { json: { name }, headers: { "Idempotency-Key": key } })).data;

/** Makes a garment of a garment file. @param {File} file @param {string} key @returns {Promise<Garment>} */
export const importGarment = async (file, key) =>
  (await call("POST", "/garments/file", { body: file, headers: { "Content-Type": "application/json", "Idempotency-Key": key } })).data;

/** The tag of a record's version: that of the answer differs with its compression. @param {{ version: number }} record */
const tagOf = (record) => `"v${record.version}"`;

/** @param {string} id @returns {Promise<{ garment: Garment, etag: string }>} */
export async function getGarment(id) {
  const { data } = await call("GET", `/garments/${esc(id)}`);
  return { garment: data, etag: tagOf(data) };
}

/** Changes some fields of a garment. @param {string} id @param {Partial<Garment>} edit @param {string} etag @returns {Promise<{ garment: Garment, etag: string }>} */
export async function patchGarment(id, edit, etag) {
  const { data } = await call("PATCH", `/garments/${esc(id)}`, { json: edit, headers: { "If-Match": etag } });
  return { garment: data, etag: tagOf(data) };
}

/** What the checks of a garment say. @param {string} id @returns {Promise<Report>} */
export const checkGarment = async (id) => (await call("GET", `/garments/${esc(id)}/check`)).data;

/** Usual finishes with their sources. @returns {Promise<Preset[]>} */
export async function listPresets() {
  const { data } = await call("GET", "/presets");
  return Array.isArray(data) ? data : data.items ?? data.presets ?? [];
}

/** Draws a piece as an edit that is not stored would make it. @param {string} id @param {unknown} edit @param {string} unit of widths on the label @param {AbortSignal} signal @returns {Promise<WireDraft>} */
export const draftPiece = async (id, edit, unit, signal) => (await call("POST", `/pieces/${esc(id)}/draft?unit=${unit}`, { json: edit, signal })).data;

/** How many pages a PDF of the service has: each is an object of its own, not compressed. @param {string} url @param {AbortSignal} signal @returns {Promise<number>} */
export async function countPages(url, signal) {
  const res = await fetch(url, { signal }).catch(() => null);
  if (!res?.ok) throw new Problem(res?.status ?? 0, res ? await res.json().catch(() => ({})) : {});
  return new TextDecoder("latin1").decode(await res.arrayBuffer()).match(/\/Type\s*\/Page\b/g)?.length ?? 0;
}

/** @import {Laid, LayView} from "./lay" */

/** @param {string} id @param {string} what @param {Record<string, string>} query */
const layPath = (id, what, query) => `/garments/${esc(id)}/lay${what}?${new URLSearchParams(query)}`;

/** How pieces lie on a cloth, as it was last left. @param {string} id @param {Record<string, string>} query cloth and unit @returns {Promise<LayView>} */
export const getLay = async (id, query) => (await call("GET", layPath(id, "", query))).data;

/** What is wrong with where pieces were put. @param {string} id @param {Record<string, string>} query @param {readonly Laid[]} pieces @param {AbortSignal} signal @returns {Promise<LayView>} */
export const checkLay = async (id, query, pieces, signal) => (await call("POST", layPath(id, "/check", query), { json: { pieces }, signal })).data;

/** @param {string} id @param {Record<string, string>} query with the format */
export const layURL = (id, query) => BASE + layPath(id, "/export", query);

/**
 * Lays pieces, or compares widths: tells of each event until the stream ends.
 * @param {string} id @param {"" | "/widths"} what @param {Record<string, string>} query @param {unknown} body @param {AbortSignal} signal @param {(name: string, data: any) => void} tell
 */
export async function streamLay(id, what, query, body, signal, tell) {
  const headers = { "Content-Type": "application/json", Accept: "text/event-stream, application/json" };
  const res = await fetch(BASE + layPath(id, what, query), { method: "POST", headers, body: JSON.stringify(body), signal }).catch(() => null);
  if (!res?.ok || !res.body) throw new Problem(res?.status ?? 0, res ? await res.json().catch(() => ({})) : {});
  const reader = res.body.pipeThrough(new TextDecoderStream()).getReader();
  for (let text = "", name = ""; ; ) {
    const { value, done } = await reader.read().catch(() => { throw new Problem(0, {}); });
    if (done) return;
    const lines = (text + value).split("\n");
    text = lines.pop() ?? "";
    for (const line of lines) {
      if (line.startsWith("event: ")) name = line.slice(7);
      if (!line.startsWith("data: ")) continue;
      const data = JSON.parse(line.slice(6));
      if (name === "failed") throw new Problem(data.status, data);
      tell(name, data);
    }
  }
}

/** @param {string} id @param {string} unit @returns {Promise<import("./lay").Making>} */
export const getMaking = async (id, unit) => (await call("GET", `/garments/${esc(id)}/making?unit=${unit}`)).data;

/** What twins and seams would correct; without twins, those that are found. @param {string} id @param {object} body @returns {Promise<{ result: import("./wear").Reconciled, etag: string }>} */
export async function reconcile(id, body) {
  const { data, etag } = await call("POST", `/garments/${esc(id)}/reconcile`, { json: body });
  return { result: data, etag };
}

/** @param {string} id @param {object} body @param {string} etag @returns {Promise<{ pieces: WirePiece[] }>} */
export const acceptReconciled = async (id, body, etag) => (await call("POST", `/garments/${esc(id)}/reconcile/accept`, { json: body, headers: { "If-Match": etag } })).data;

/** Takes an edge from its twin. @param {string} id @param {{ a: string, b: string, piece: string, edge: string }} body @param {string} etag */
export const borrowEdge = (id, body, etag) => call("POST", `/garments/${esc(id)}/twins/borrow`, { json: body, headers: { "If-Match": etag } });

/** @param {string} id @param {Record<string, string>} query */
export const makingURL = (id, query) => `${BASE}/garments/${esc(id)}/making/pdf?${new URLSearchParams(query)}`;

/** A new garment after another one. @param {string} id @param {string} name @param {string} key @returns {Promise<Garment>} */
export const remakeGarment = async (id, name, key) => (await call("POST", `/garments/${esc(id)}/remake`, { json: { name }, headers: { "Idempotency-Key": key } })).data;

/** A garment's small picture, of its present version. @param {{ id: string, version: number }} g */
export const pictureURL = (g) => `${BASE}/garments/${esc(g.id)}/picture?v=${g.version}`;

/** Keeps a small photo of a cloth and answers with its name. @param {string} id @param {File} file @returns {Promise<string>} */
export const addSwatch = async (id, file) => (await call("POST", `/garments/${esc(id)}/swatches`, { body: file, headers: { "Content-Type": imageType(file) || "application/octet-stream" } })).data.name;

/** @param {string} id @param {string} name */
export const swatchURL = (id, name) => `${BASE}/garments/${esc(id)}/swatches/${esc(name)}`;

/** Has a garment drawn as a file, by a job. @param {string} id @param {Record<string, unknown>} what @returns {Promise<Job>} */
export const addExport = async (id, what) => (await call("POST", `/garments/${esc(id)}/exports`, { json: what })).data;

/** @param {string} id of the job */
export const jobFileURL = (id) => `${BASE}/jobs/${esc(id)}/file`;

export const archiveURL = `${BASE}/archive`;

/** Takes an archive in. @param {File} file @returns {Promise<{ garments: number, skipped: number }>} */
export const readArchive = async (file) => (await call("POST", "/archive", { body: file, headers: { "Content-Type": "application/x-tar" } })).data;

/** @param {string} id */
export const deleteGarment = (id) => call("DELETE", `/garments/${esc(id)}`);

/** @type {Record<string, string>} */
const TYPES = { jpg: "image/jpeg", jpeg: "image/jpeg", png: "image/png", webp: "image/webp", heic: "image/heic", heif: "image/heif" };

/** The kind of picture; some systems leave the type of HEIC files empty. @param {File} file */
export const imageType = (file) => (file.type.startsWith("image/") ? file.type : TYPES[file.name.split(".").at(-1)?.toLowerCase() ?? ""] ?? "");

/** Begins to send a photo in parts; with the key of one that was begun it says how far that is. @param {string} garment @param {File} file @param {Face} face @param {WirePrint} print @param {string} key @returns {Promise<WireUpload>} */
export const beginUpload = async (garment, file, face, print, key) =>
  (await call("POST", `/garments/${esc(garment)}/uploads`, { json: { size: file.size, file_name: file.name, face, print }, headers: { "Idempotency-Key": key } })).data;

/** @param {WireUpload} u @param {Blob} part that follows what has been received @returns {Promise<WireUpload>} */
export const sendPart = async (u, part) =>
  (await call("PUT", `/uploads/${esc(u.id)}?offset=${u.received}`, { body: part, headers: { "Content-Type": "application/octet-stream" } })).data;

/** Makes a photo of what was sent. @param {string} id @returns {Promise<{ photo: Photo, job_id: string }>} */
export const finishUpload = async (id) => (await call("POST", `/uploads/${esc(id)}/finish`)).data;

/** @param {string} id @returns {Promise<Photo>} */
export const getPhoto = async (id) => (await call("GET", `/photos/${esc(id)}`)).data;

/** Says which side faces up, what the photo is called, how its cards are printed, or what of known size is in it. @param {string} id @param {{ face?: Face, file_name?: string, print?: WirePrint, references?: WireReference[] }} edit */
export const editPhoto = (id, edit) => call("PATCH", `/photos/${esc(id)}`, { json: edit });

/** @param {string} id */
export const deletePhoto = (id) => call("DELETE", `/photos/${esc(id)}`);

/** @param {string} id */
export const imageURL = (id) => `${BASE}/photos/${esc(id)}/image`;

/** @param {string} id */
export const planeURL = (id) => `${BASE}/photos/${esc(id)}/plane`;

/** The outline drawn anew from the raw edge. @param {string} id @param {number} smooth @param {string} job @returns {Promise<{ knots: any[], holes: any[][], uncertainty_mm: number, fray_mm: number }>} */
export const smoothPiece = async (id, smooth, job) => (await call("POST", `/pieces/${esc(id)}/smooth`, { json: { smooth, ...(job && { job_id: job }) } })).data;

/** Traces with strokes; anew makes the pieces again from the start. @param {string} photo @param {unknown[]} strokes @param {boolean} [anew] @returns {Promise<string>} the job's id */
export const traceAgain = async (photo, strokes, anew) => (await call("POST", `/photos/${esc(photo)}/trace`, { json: { strokes, anew } })).data.job_id;

/** @param {string} id @returns {Promise<{ piece: WirePiece, etag: string }>} */
export async function getPiece(id) {
  const { data } = await call("GET", `/pieces/${esc(id)}`);
  return { piece: data, etag: tagOf(data) };
}

/** @param {string} id @param {unknown} edit @param {string} etag @returns {Promise<{ piece: WirePiece, etag: string }>} */
export async function putPiece(id, edit, etag) {
  const { data } = await call("PUT", `/pieces/${esc(id)}`, { json: edit, headers: { "If-Match": etag } });
  return { piece: data, etag: tagOf(data) };
}

/** @param {string} id */
export const deletePiece = (id) => call("DELETE", `/pieces/${esc(id)}`);

/** @param {string} id @param {Record<string, string>} options format, paper and so on */
export const exportURL = (id, options) => `${BASE}/pieces/${esc(id)}/export?${new URLSearchParams(options)}`;

/** @param {string} id @param {Record<string, string>} options format, paper and so on */
export const garmentURL = (id, options) => `${BASE}/garments/${esc(id)}/export?${new URLSearchParams(options)}`;

/** The versions of a piece, the present one first. @param {string} id @returns {Promise<Version[]>} */
export const listVersions = async (id) => (await call("GET", `/pieces/${esc(id)}/versions`)).data.items ?? [];

/** Makes a former version the present one. @param {string} id @param {number} n @param {string} etag @returns {Promise<{ piece: WirePiece, etag: string }>} */
export async function restoreVersion(id, n, etag) {
  const { data } = await call("POST", `/pieces/${esc(id)}/versions/${n}/restore`, { headers: { "If-Match": etag } });
  return { piece: data, etag: tagOf(data) };
}

/** What was deleted in the last days. @returns {Promise<Trashed[]>} */
export const listTrash = async () => (await call("GET", "/trash")).data.items ?? [];

/** @param {string} id */
export const restoreTrash = (id) => call("POST", `/trash/${esc(id)}/restore`);

/** @param {string} paper @param {number} sheet */
export const cardsURL = (paper, sheet) => `${BASE}/cards.pdf?paper=${paper}&sheet=${sheet}`;

/** Who asks, and what they may do. @returns {Promise<Me>} */
export const getMe = async () => (await call("GET", "/session")).data;

/** @param {string} name @param {string} secret a password or a token @returns {Promise<Me>} */
export const signIn = async (name, secret) => (await call("POST", "/session", { json: { name, secret } })).data;

export const signOut = () => call("DELETE", "/session");

/** @param {string} id of the garment @returns {Promise<Link[]>} */
export const listLinks = async (id) => (await call("GET", `/garments/${esc(id)}/links`)).data.items;

/** @param {string} id @param {number} days @returns {Promise<Link & { path: string }>} */
export const addLink = async (id, days) => (await call("POST", `/garments/${esc(id)}/links`, { json: { days } })).data;

/** @param {string} id @param {string} link */
export const revokeLink = (id, link) => call("DELETE", `/garments/${esc(id)}/links/${esc(link)}`);

/** @returns {Promise<Lan>} */
export const getLan = async () => (await call("GET", "/lan")).data;

/** @param {string} id @returns {Promise<Job>} */
const getJob = async (id) => (await call("GET", `/jobs/${esc(id)}`)).data;

/** @param {string} id */
export const cancelJob = (id) => call("DELETE", `/jobs/${esc(id)}`);

/** @param {Job} j */
export const finished = (j) => j.status !== "queued" && j.status !== "running";

/** A browser keeps six connections to a host at most: the other jobs are asked for now and then. */
const MOST_STREAMS = 2;
const POLL_MS = 1500;
let streams = 0;

/**
 * Follows a job until it ends. The returned function stops following.
 * @param {string} id @param {(job: Job) => void} tell called with every change
 * @param {(p: Problem) => void} fail called once, when the job can't be followed any more
 * @returns {() => void}
 */
export function followJob(id, tell, fail) {
  let over = false, timer = 0, opened = false;
  /** @type {EventSource | null} */
  let source = null;
  const stop = () => {
    over = true;
    clearTimeout(timer);
    source?.close();
    if (opened) streams--;
    opened = false;
  };
  /** @param {Job} job */
  const got = (job) => {
    if (over) return;
    if (finished(job)) stop();
    tell(job);
  };
  const poll = () =>
    getJob(id).then(got, (/** @type {Problem} */ p) => {
      if (over || p.passing) return;
      stop();
      fail(p);
    }).finally(() => { if (!over) timer = setTimeout(poll, POLL_MS); });
  if (streams >= MOST_STREAMS) {
    poll();
    return stop;
  }
  streams++;
  opened = true;
  source = new EventSource(`${BASE}/jobs/${esc(id)}/events`);
  for (const name of ["step", "done", "refused", "failed", "cancelled"])
    source.addEventListener(name, (e) => got(JSON.parse(/** @type {MessageEvent} */ (e).data)));
  source.addEventListener("error", (e) => {
    // A browser gives up for good on an error status; then asking tells what is the matter.
    if (e instanceof MessageEvent || over || source?.readyState !== EventSource.CLOSED) return;
    poll();
  });
  return stop;
}

/**
 * Tells when anything of a garment changed, on whatever device.
 * @param {string} id @param {() => void} tell @returns {() => void} stops listening
 */
export function followGarment(id, tell) {
  const source = new EventSource(`${BASE}/garments/${esc(id)}/events`);
  source.addEventListener("changed", tell);
  return () => source.close();
}
