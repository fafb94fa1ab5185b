// The person's words for what the service, or its absence, answered.

import { texts } from "../texts.js";
import { say } from "./app.js";

/** @param {unknown} e @returns {{ title: string, remedy: string }} */
export function explain(e) {
  const p = /** @type {{ status?: number, message?: string, remedy?: string }} */ (e);
  if (p.status === 0) return { title: texts.offline, remedy: texts.offlineRemedy };
  return { title: p.message || texts.unknownProblem, remedy: p.remedy || texts.unknownRemedy };
}

/** @param {unknown} e */
export function sayProblem(e) {
  const { title, remedy } = explain(e);
  say(title, remedy);
}
