import { freeze } from "../model/doc.js";

/** @import {Action, Label, Mark} from "../types" */

/** Adds a mark. A piece has one grain line: a new one takes the place of the old. @param {Mark} mark @returns {Action} */
export const addMark = (mark) => (doc) => freeze({ ...doc, marks: [...(mark.kind === "grain" ? doc.marks.filter((m) => m.kind !== "grain") : doc.marks), mark] });

/** Changes a mark; what is undefined in the change is left out of it. @param {string} id @param {Partial<Mark>} change @returns {Action} */
export const changeMark = (id, change) => (doc) => {
  const old = doc.marks.find((m) => m.id === id);
  if (!old) return doc;
  const next = /** @type {any} */ (Object.fromEntries(Object.entries({ ...old, ...change }).filter(([, v]) => v !== undefined)));
  return JSON.stringify(next) === JSON.stringify(old) ? doc : freeze({ ...doc, marks: doc.marks.map((m) => (m === old ? next : m)) });
};

/** @param {string} id @returns {Action} */
export const removeMark = (id) => (doc) => (doc.marks.some((m) => m.id === id) ? freeze({ ...doc, marks: doc.marks.filter((m) => m.id !== id) }) : doc);

/** @param {Label} label @returns {Action} */
export const setLabel = (label) => (doc) => (JSON.stringify(doc.label) === JSON.stringify(label) ? doc : freeze({ ...doc, label }));
