// What is still missing of a piece before it can be printed, in the order of the
// steps. What may be meant so is soft: it is shown, and the piece is ready all the same.

import { spans } from "../model/edges.js";
import { cameraNamed } from "../model/photoName.js";
import { texts } from "../texts.js";
import { alone, report } from "./board.js";
import { garment } from "./garments.js";

/** @import {Doc} from "../types" */
/** @import {Step} from "./app.js" */

const T = texts.todo;

/** @typedef {{ step: Step, text: string, soft?: boolean, naming?: boolean }} Todo */

/** @param {Todo[]} open */
export const isReady = (open) => open.every((t) => t.soft);

/** @param {Doc} doc @param {string} id @returns {Todo[]} */
export function todo(doc, id) {
  /** @type {Todo[]} */
  const out = [];
  const edges = spans(doc).map((s) => s.edge);
  if (cameraNamed(doc.name)) out.push({ step: "photo", text: T.name, soft: true, naming: true });
  const unsure = doc.sure.unsure.length;
  if (unsure > 0) out.push({ step: "outline", text: T.unsure(unsure), soft: true });
  const asks = doc.means === "cut-edge" ? edges.filter((e) => e.finish.kind !== "keep" && e.finish.kind !== "fold" && e.old.is === "unknown").length : 0;
  if (edges.length > 0 && edges.every((e) => e.finish.kind === "keep")) out.push({ step: "edges", text: T.finish, soft: true });
  if (asks > 0) out.push({ step: "edges", text: T.unknown(asks) });
  if (doc.frame && !doc.marks.some((m) => m.kind === "grain" && !m.detached)) out.push({ step: "marks", text: T.grain });
  if (doc.frame && !doc.label?.cuts?.length) out.push({ step: "marks", text: T.cuts, soft: true });
  const lone = alone.value.get(id) ?? 0;
  if (lone > 0) out.push({ step: "check", text: T.alone(lone), soft: true });
  const bad = badSeams(id);
  if (bad > 0) out.push({ step: "check", text: T.badSeam(bad) });
  return out;
}

/** Seams of a piece that the last check found not to fit. @param {string} id */
function badSeams(id) {
  const mine = new Set((garment.value?.seam_pairs ?? []).filter((s) => [...s.a, ...s.b].some((r) => r.piece === id)).map((s) => s.id));
  return (report.value?.seams ?? []).filter((s) => mine.has(s.id) && s.known && !s.ok).length;
}
