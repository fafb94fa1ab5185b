// The document: frozen, shared between versions, looked up by knot id.

/** @import {Doc, Knot, Ring} from "../types" */

/**
 * Freezes a value and all that it holds. What is already frozen is taken as
 * frozen all through, so that shared parts cost nothing.
 * @template T @param {T} value @returns {T}
 */
export function freeze(value) {
  if (typeof value === "object" && value !== null && !Object.isFrozen(value)) {
    Object.values(value).forEach(freeze);
    Object.freeze(value);
  }
  return value;
}

/**
 * Where a knot stands, or null.
 * @param {Doc} doc @param {number} id
 * @returns {{ ring: number, index: number, knot: Knot, before: Knot, after: Knot } | null}
 */
export function find(doc, id) {
  for (let r = 0; r < doc.rings.length; r++) {
    const ring = doc.rings[r], n = ring.length;
    const i = ring.findIndex((k) => k.id === id);
    if (i >= 0) return { ring: r, index: i, knot: ring[i], before: ring[(i + n - 1) % n], after: ring[(i + 1) % n] };
  }
  return null;
}

/** An id that no knot of the document has. @param {Doc} doc */
export const freshId = (doc) => 1 + doc.rings.flat().reduce((most, k) => Math.max(most, k.id), 0);

/**
 * The document with some knots changed; the same document where none is.
 * @param {Doc} doc @param {(k: Knot) => Knot} change
 * @returns {Doc}
 */
export function mapKnots(doc, change) {
  let any = false;
  const rings = doc.rings.map((ring) => {
    let touched = false;
    const next = ring.map((k) => {
      const c = change(k);
      if (c !== k) touched = true;
      return c === k ? k : freeze(c);
    });
    any ||= touched;
    return touched ? Object.freeze(next) : ring;
  });
  return any ? freeze({ ...doc, rings }) : doc;
}

/** The document with one ring put in place of another. @param {Doc} doc @param {number} r @param {Knot[]} ring */
export function withRing(doc, r, ring) {
  return freeze({ ...doc, rings: doc.rings.map((old, i) => (i === r ? /** @type {Ring} */ (ring) : old)) });
}
