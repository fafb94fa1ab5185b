// Undo as a stack of documents: snapshots share what did not change, so a step
// back is a pointer and gives the identical object.

/** @import {Doc, Entry, History} from "./types" */

/** @param {Doc} doc @param {string} label @returns {History} */
export const begin = (doc, label) => Object.freeze({ past: [], present: Object.freeze({ doc, label }), future: [] });

/**
 * A new step. Nothing happens where the document is the same.
 * @param {History} h @param {Doc} doc @param {string} label @returns {History}
 */
export function perform(h, doc, label) {
  if (doc === h.present.doc) return h;
  return Object.freeze({ past: [...h.past, h.present], present: Object.freeze({ doc, label }), future: [] });
}

/**
 * The present step with another document: what a drag does after its first
 * move, so that it leaves one step.
 * @param {History} h @param {Doc} doc @param {string} [label] @returns {History}
 */
export function replace(h, doc, label = h.present.label) {
  if (doc === h.present.doc) return h;
  return Object.freeze({ ...h, present: Object.freeze({ doc, label }) });
}

/** @param {History} h @returns {History} */
export function undo(h) {
  if (h.past.length === 0) return h;
  const past = h.past.slice(0, -1), present = /** @type {Entry} */ (h.past.at(-1));
  return Object.freeze({ past, present, future: [h.present, ...h.future] });
}

/** @param {History} h @returns {History} */
export function redo(h) {
  if (h.future.length === 0) return h;
  const [present, ...future] = h.future;
  return Object.freeze({ past: [...h.past, h.present], present, future });
}
