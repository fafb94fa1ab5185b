// What the two rulers of a printed card sheet measure, in mm; null where that
// was not measured.

/** @import {Print, WirePrint} from "../types" */

/** The rulers as they are drawn, in mm. */
export const RULERS = /** @type {const} */ ({ across: 150, up: 200 });

/** The service takes no ruler that is further off than this part of its length. */
const MOST_OFF = 10 / 100;

/** @type {Print} */
export const UNMEASURED = Object.freeze({ across: null, up: null });

/** Between what a ruler can measure. @param {number} nominal */
export const limits = (nominal) => ({ least: nominal * (1 - MOST_OFF), most: Math.round(nominal * (1 + MOST_OFF)) });

/**
 * Reads what a person typed: a length, null for nothing, undefined for what
 * can't be. A comma counts as a point.
 * @param {string} text @param {number} nominal @returns {number | null | undefined}
 */
export function readRuler(text, nominal) {
  const t = text.trim().replace(",", ".");
  if (t === "") return null;
  const v = /^\d+(\.\d*)?$/.test(t) ? +t : NaN, { least, most } = limits(nominal);
  return v >= least && v <= most ? v : undefined;
}

/** @param {Print} a @param {Print} b */
export const samePrint = (a, b) => a.across === b.across && a.up === b.up;

/** @param {WirePrint | null | undefined} w @returns {Print} */
export const readPrint = (w) => ({ across: w?.ruler_across_mm || null, up: w?.ruler_up_mm || null });

/** @param {Print} p @returns {WirePrint} */
export function writePrint(p) {
  /** @type {WirePrint} */
  const w = {};
  if (p.across) w.ruler_across_mm = p.across;
  if (p.up) w.ruler_up_mm = p.up;
  return w;
}

/** What a browser kept; whatever can't be is forgotten. @param {string | null} text @returns {Print} */
export function readKept(text) {
  try {
    const w = JSON.parse(text ?? "");
    /** @param {unknown} v @param {number} nominal */
    const length = (v, nominal) => (typeof v === "number" ? readRuler(String(v), nominal) : null) ?? null;
    return { across: length(w.ruler_across_mm, RULERS.across), up: length(w.ruler_up_mm, RULERS.up) };
  } catch {
    return UNMEASURED;
  }
}
