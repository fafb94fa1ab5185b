import { freeze } from "../model/doc.js";
import { freshName, spanAt, spans, withEdges } from "../model/edges.js";
import { splitSegment } from "./splitSegment.js";

/** @import {Action, Doc} from "../types" */

/**
 * Cuts an edge in two at a knot; both parts keep its finish and old allowance.
 * @param {number} knot @param {(name: string) => string} secondName what the second part is called @returns {Action}
 */
export const cutEdge = (knot, secondName) => (doc) => {
  const span = spanAt(doc, knot);
  if (!span || !doc.edges || span.edge.knot === knot) return doc;
  const fresh = { ...span.edge, id: freshName([...doc.edges, ...doc.lost], "edge"), name: secondName(span.edge.name), knot };
  return freeze(withEdges(doc, [...doc.edges, fresh]));
};

/**
 * Cuts an edge in two anywhere: a knot is put in, which does not change the shape.
 * @param {number} knot where the segment begins @param {number} t in (0, 1) @param {number} newId @param {(name: string) => string} secondName @returns {Action}
 */
export const cutEdgeAt = (knot, t, newId, secondName) => (doc) => cutEdge(newId, secondName)(splitSegment(knot, t, newId)(doc));

/** The edge that ends where one begins, or null where there is no other. @param {Doc} doc @param {string} id */
export function edgeBefore(doc, id) {
  const all = spans(doc), i = all.findIndex((s) => s.edge.id === id);
  return i < 0 || all.length < 2 ? null : all[(i + all.length - 1) % all.length].edge;
}

/** Joins an edge to the one before it, which takes it over. @param {string} id @returns {Action} */
export const joinEdge = (id) => (doc) => (doc.edges && edgeBefore(doc, id) ? freeze(withEdges(doc, doc.edges.filter((e) => e.id !== id))) : doc);
