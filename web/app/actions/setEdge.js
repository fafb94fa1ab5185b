import { freeze } from "../model/doc.js";

/** @import {Action, Edge, Means} from "../types" */

/**
 * Changes edges: their name, old allowance or finish.
 * @param {ReadonlySet<string>} ids @param {Partial<Pick<Edge, "name" | "old" | "finish">>} change @returns {Action}
 */
export const setEdges = (ids, change) => (doc) => {
  if (!doc.edges?.some((e) => ids.has(e.id) && differs(e, change))) return doc;
  return freeze({ ...doc, edges: doc.edges.map((e) => (ids.has(e.id) && differs(e, change) ? { ...e, ...change } : e)) });
};

/** @param {Edge} e @param {Partial<Edge>} change */
const differs = (e, change) => Object.entries(change).some(([k, v]) => JSON.stringify(e[/** @type {keyof Edge} */ (k)]) !== JSON.stringify(v));

/** Says what the traced outline was. @param {Means} means @returns {Action} */
export const setMeans = (means) => (doc) => (doc.means === means ? doc : freeze({ ...doc, means }));

/** Names several edges at once. @param {ReadonlyMap<string, string>} names by id @returns {Action} */
export const nameEdges = (names) => (doc) =>
  doc.edges?.some((e) => names.has(e.id) && names.get(e.id) !== e.name) ? freeze({ ...doc, edges: doc.edges.map((e) => (names.has(e.id) ? { ...e, name: names.get(e.id) ?? e.name } : e)) }) : doc;
