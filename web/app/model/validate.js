// What the service would turn down, said before it is sent.

/** @import {Doc} from "../types" */

export const MOST_KNOTS = 5000;

/**
 * The reason why a document can't be stored, or null.
 * @param {Doc} doc @returns {"name" | "few" | "many" | "number" | null}
 */
export function fault(doc) {
  if (doc.name.trim() === "") return "name";
  if (doc.rings.length === 0 || doc.rings.some((r) => r.length < 3)) return "few";
  if (doc.rings.flat().length > MOST_KNOTS) return "many";
  const finite = doc.rings.flat().every((k) => [k.at, k.in, k.out].every((p) => !p || (Number.isFinite(p.x) && Number.isFinite(p.y))));
  return finite ? null : "number";
}
