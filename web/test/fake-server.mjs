// A stand-in for the service while working on the page: one garment in memory,
// the same answers, the same content security policy. Not part of the product.
//   node test/fake-server.mjs [port]

import { createHash } from "node:crypto";
import { readFileSync } from "node:fs";
import { createServer } from "node:http";
import { dirname, extname, join, resolve, sep } from "node:path";
import { fileURLToPath } from "node:url";

const here = dirname(fileURLToPath(import.meta.url)), web = resolve(here, "..");
const fixture = JSON.parse(readFileSync(join(here, "fixtures/piece.json"), "utf8"));
const plane = readFileSync(join(here, "fixtures/plane.jpg"));
const TYPES = { ".html": "text/html; charset=utf-8", ".js": "text/javascript", ".css": "text/css", ".svg": "image/svg+xml" };
const STEPS = ["read", "cards", "calibrate", "rectify", "segment", "trace", "fit"];

const now = () => new Date().toISOString();
const traced = fixture.trace.pieces[0];
const newPiece = (id, photo, name) => ({
  id, garment_id: "smock", photo_id: photo, name, version: 1, updated_at: now(), knots: traced.knots, holes: [],
  uncertainty_mm: traced.uncertainty_mm, fray_mm: traced.fray_mm, unsure: traced.unsure, strokes: [], findings: [],
});
const db = {
  garments: new Map([["smock", { id: "smock", name: "Lamplighter's smock", version: 1, created_at: now(), updated_at: now() }]]),
  photos: new Map([["sleeve", { id: "sleeve", garment_id: "smock", file_name: "sleeve.jpg", width: 4006, height: 2990, face: "right", status: "traced", job_id: "", plane: fixture.plane, created_at: now() }]]),
  pieces: new Map([["sleeve", newPiece("sleeve", "sleeve", "Sleeve")]]),
  jobs: new Map(), listeners: new Set(), seq: 0,
};
if (process.env.MANY) { // an outline of so many knots, for timing
  const n = +process.env.MANY, at = (i) => [130 * Math.cos((2 * Math.PI * i) / n), 240 * Math.sin((2 * Math.PI * i) / n)];
  const k = (2 * Math.PI) / n / 3;
  db.pieces.get("sleeve").knots = Array.from({ length: n }, (_, i) => {
    const a = (2 * Math.PI * i) / n, p = at(i), t = [-130 * Math.sin(a) * k, 240 * Math.cos(a) * k];
    return { at: p, in: [p[0] - t[0], p[1] - t[1]], out: [p[0] + t[0], p[1] + t[1]], corner: false };
  });
}

const garment = (g) => ({
  ...g, photos: [...db.photos.values()].filter((p) => p.garment_id === g.id),
  pieces: [...db.pieces.values()].filter((p) => p.garment_id === g.id).map(({ id, photo_id, name, version, uncertainty_mm, updated_at }) => ({ id, photo_id, name, version, uncertainty_mm, updated_at })),
});

function changed(id) {
  const g = db.garments.get(id);
  if (!g) return;
  g.version++;
  g.updated_at = now();
  for (const l of db.listeners) if (l.id === id) l.res.write(`event: changed\ndata: {"version":${g.version}}\n\n`);
}

function startJob(kind, photo, end) {
  const job = { id: `j${++db.seq}`, kind, photo_id: photo.id, status: "queued", watchers: new Set(), n: 0 };
  db.jobs.set(job.id, job);
  let i = 0;
  const tick = () => {
    if (job.status === "cancelled") return;
    if (i < STEPS.length) {
      job.status = "running";
      job.step = { name: STEPS[i], index: i + 1, count: STEPS.length, text: `Step ${i + 1}` };
      emit(job, "step");
      i++;
      setTimeout(tick, +process.env.STEP_MS || 250);
    } else {
      end(job);
      emit(job, job.status);
    }
  };
  setTimeout(tick, 100);
  return job;
}
const view = ({ watchers, n, ...j }) => j;
function emit(job, event) {
  job.n++;
  for (const res of job.watchers) {
    res.write(`id: ${job.n}\nevent: ${event}\ndata: ${JSON.stringify(view(job))}\n\n`);
    if (event !== "step") res.end();
  }
}

function traceNew(photo) {
  const job = startJob("trace", photo, (j) => {
    if (/refuse/.test(photo.file_name)) {
      j.status = photo.status = "refused";
      j.refusal = photo.refusal = { code: "no-card", message: "No scale card can be seen in this photo.", remedy: "Lay four to six cards flat around the piece so that all of them show whole, and take it again." };
    } else {
      j.status = "done";
      photo.status = "traced";
      photo.plane = fixture.plane;
      const id = `p${++db.seq}`;
      db.pieces.set(id, { ...newPiece(id, photo.id, "Piece"), garment_id: photo.garment_id });
    }
    changed(photo.garment_id);
  });
  photo.job_id = job.id;
  return job;
}

const send = (res, status, data, headers = {}) => {
  res.writeHead(status, { "Content-Type": status >= 400 ? "application/problem+json" : "application/json", ...headers });
  res.end(data === undefined ? "" : JSON.stringify(data));
};
const problem = (res, status, code, title, remedy, more = {}) => send(res, status, { status, code, title, detail: title, remedy, ...more });
const stream = (res) => res.writeHead(200, { "Content-Type": "text/event-stream", "Cache-Control": "no-store" }).write(":\n\n");
const body = async (req) => {
  const parts = [];
  for await (const p of req) parts.push(p);
  return Buffer.concat(parts);
};

const routes = [
  ["GET", /^\/garments$/, (_, res) => send(res, 200, { items: [...db.garments.values()].map((g) => ({ id: g.id, name: g.name, updated_at: g.updated_at, piece_count: garment(g).pieces.length, photo_count: garment(g).photos.length })) })],
  ["POST", /^\/garments$/, async (req, res) => {
    const g = { id: `g${++db.seq}`, name: JSON.parse(await body(req)).name, version: 1, created_at: now(), updated_at: now() };
    db.garments.set(g.id, g);
    send(res, 201, garment(g));
  }],
  ["GET", /^\/garments\/(\w+)$/, (_, res, id) => (db.garments.has(id) ? send(res, 200, garment(db.garments.get(id)), { ETag: `"v${db.garments.get(id).version}"` }) : problem(res, 404, "not-found", "There is no such garment.", "Go back to the list."))],
  ["PATCH", /^\/garments\/(\w+)$/, async (req, res, id) => { db.garments.get(id).name = JSON.parse(await body(req)).name; changed(id); send(res, 200, garment(db.garments.get(id))); }],
  ["DELETE", /^\/garments\/(\w+)$/, (_, res, id) => { db.garments.delete(id); send(res, 204); }],
  ["GET", /^\/garments\/(\w+)\/events$/, (req, res, id) => { stream(res); const l = { id, res }; db.listeners.add(l); req.on("close", () => db.listeners.delete(l)); }],
  ["POST", /^\/garments\/(\w+)\/photos$/, async (req, res, id, url) => {
    await body(req);
    const print = Object.fromEntries(["ruler_across_mm", "ruler_up_mm"].flatMap((k) => (url.searchParams.has(k) ? [[k, +url.searchParams.get(k)]] : [])));
    const p = { ...(Object.keys(print).length > 0 && { print }), id: `f${++db.seq}`, garment_id: id, file_name: url.searchParams.get("name"), width: 4000, height: 3000, face: url.searchParams.get("face"), status: "tracing", created_at: now() };
    db.photos.set(p.id, p);
    const job = traceNew(p);
    changed(id);
    send(res, 202, { photo: p, job_id: job.id });
  }],
  ["GET", /^\/photos\/(\w+)$/, (_, res, id) => send(res, 200, { ...db.photos.get(id), trace: fixture.trace })],
  ["PATCH", /^\/photos\/(\w+)$/, async (req, res, id) => { const p = Object.assign(db.photos.get(id), JSON.parse(await body(req))); changed(p.garment_id); send(res, 200, p); }],
  ["DELETE", /^\/photos\/(\w+)$/, (_, res, id) => { const g = db.photos.get(id).garment_id; db.photos.delete(id); for (const p of db.pieces.values()) if (p.photo_id === id) db.pieces.delete(p.id); changed(g); send(res, 204); }],
  ["GET", /^\/photos\/(\w+)\/(image|plane)$/, (_, res) => { res.writeHead(200, { "Content-Type": "image/jpeg", "Cache-Control": "private, max-age=3600" }); res.end(plane); }],
  ["POST", /^\/photos\/(\w+)\/trace$/, async (req, res, id) => {
    await body(req);
    send(res, 202, { job_id: startJob("retrace", db.photos.get(id), (j) => { j.status = "done"; j.trace = fixture.trace; }).id });
  }],
  ["GET", /^\/jobs\/(\w+)$/, (_, res, id) => send(res, 200, view(db.jobs.get(id)))],
  ["DELETE", /^\/jobs\/(\w+)$/, (_, res, id) => { const j = db.jobs.get(id); j.status = "cancelled"; emit(j, "cancelled"); send(res, 204); }],
  ["GET", /^\/jobs\/(\w+)\/events$/, (req, res, id) => {
    const j = db.jobs.get(id);
    stream(res);
    j.watchers.add(res);
    req.on("close", () => j.watchers.delete(res));
    if (["done", "refused", "failed", "cancelled"].includes(j.status)) { res.write(`event: ${j.status}\ndata: ${JSON.stringify(view(j))}\n\n`); res.end(); }
  }],
  ["GET", /^\/pieces\/(\w+)$/, (_, res, id) => (db.pieces.has(id) ? send(res, 200, db.pieces.get(id), { ETag: `"v${db.pieces.get(id).version}"` }) : problem(res, 404, "not-found", "There is no such piece.", "Go back to the garment."))],
  ["PUT", /^\/pieces\/(\w+)$/, async (req, res, id) => {
    const p = db.pieces.get(id), edit = JSON.parse(await body(req));
    if (req.headers["if-match"] !== `"v${p.version}"`) return problem(res, 412, "stale", "The piece was changed in the meantime.", "Choose which version counts.", { current: p });
    const next = { ...p, ...edit, version: p.version + 1, updated_at: now() };
    db.pieces.set(id, next);
    changed(p.garment_id);
    send(res, 200, next, { ETag: `"v${next.version}"` });
  }],
  ["DELETE", /^\/pieces\/(\w+)$/, (_, res, id) => { const g = db.pieces.get(id).garment_id; db.pieces.delete(id); changed(g); send(res, 204); }],
  ["GET", /^\/garments\/(\w+)\/export$/, (_, res, id, url) => { res.writeHead(200, { "Content-Type": "application/octet-stream", "Content-Disposition": `attachment; filename="${id}.${url.searchParams.get("format")}"` }); res.end("x"); }],
  ["GET", /^\/pieces\/(\w+)\/export$/, (_, res, id, url) => { res.writeHead(200, { "Content-Type": "application/octet-stream", "Content-Disposition": `attachment; filename="${id}.${url.searchParams.get("format")}"` }); res.end("x"); }],
  ["GET", /^\/cards\.pdf$/, (_, res) => { res.writeHead(200, { "Content-Type": "application/pdf" }); res.end("%PDF-1.4"); }],
  ["GET", /^\/lan$/, (_, res) => send(res, 200, process.env.LAN ? { enabled: true, url: "http://192.0.2.7:8080/pair/abcd", qr_svg: '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 4 4"><path d="M0 0h1v1H0zM2 0h2v1H2zM1 1h1v1H1zM0 2h2v1H0zM3 2h1v2H3zM1 3h1v1H1z"/></svg>' } : { enabled: false })],
];

function page(path, res) {
  const file = resolve(web, `.${path === "/" ? "/index.html" : path}`);
  if (!file.startsWith(web + sep)) return problem(res, 404, "not-found", "There is no such page.", "");
  try {
    const bytes = readFileSync(file);
    const map = /<script type="importmap">([\s\S]*?)<\/script>/.exec(readFileSync(join(web, "index.html"), "utf8"))[1];
    const hash = createHash("sha256").update(map).digest("base64");
    res.writeHead(200, {
      "Content-Type": TYPES[extname(file)] ?? "application/octet-stream", "Cache-Control": "no-cache",
      "Content-Security-Policy": `default-src 'none'; script-src 'self' 'sha256-${hash}'; style-src 'self'; img-src 'self'; connect-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'`,
    });
    res.end(bytes);
  } catch {
    problem(res, 404, "not-found", "There is no such page.", "");
  }
}

const port = +(process.argv[2] ?? 8090);
createServer((req, res) => {
  const url = new URL(req.url ?? "/", "http://localhost");
  if (!url.pathname.startsWith("/api/v1")) return page(url.pathname, res);
  for (const [method, pattern, run] of routes) {
    const m = pattern.exec(url.pathname.slice("/api/v1".length));
    if (m && method === req.method) return run(req, res, m[1], url);
  }
  problem(res, 404, "not-found", "There is nothing at this address.", "");
}).listen(port, "127.0.0.1", () => console.log(`http://127.0.0.1:${port}/`));
