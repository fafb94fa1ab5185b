// Numbers, lengths and dates as the person reads them. The one place that will
// know about other units.

/**
 * A length. Small ones keep a tenth, an uncertainty two digits that count.
 * @param {number} mm @param {number} [digits] after the point
 */
export function lengthText(mm, digits = Math.abs(mm) < 100 ? 1 : 0) {
  return `${number(mm, digits)}\u00a0mm`;
}

/** An uncertainty, to a tenth of a millimetre; never nothing. @param {number} mm */
export const doubtText = (mm) => `${number(Math.max(0.1, mm), 1)}\u00a0mm`;

/** @param {number} v @param {number} digits */
export const number = (v, digits) => v.toLocaleString("en", { minimumFractionDigits: digits, maximumFractionDigits: digits, useGrouping: false });

/** @param {number} pct */
export const percentText = (pct) => `${number(pct, pct < 0.1 ? 2 : 1)}\u00a0%`;

/** @param {string} iso */
export function dateText(iso) {
  const d = new Date(iso);
  return Number.isNaN(d.getTime()) ? "" : d.toLocaleString("en-GB", { day: "numeric", month: "short", year: "numeric", hour: "2-digit", minute: "2-digit" });
}

/** With a capital at its beginning. @param {string} text */
export const sentence = (text) => text.charAt(0).toUpperCase() + text.slice(1);
