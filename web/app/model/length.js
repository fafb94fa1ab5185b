// Lengths as people type and read them. The same rules as the service's, held by
// fixtures that both read.

/** @typedef {"mm" | "cm" | "in"} Unit */

const MM = { mm: 1, cm: 10, in: 25.4 };
/** @type {Record<string, Unit>} */
const NAMES = { mm: "mm", cm: "cm", in: "in", inch: "in", inches: "in", '"': "in" };
const DENOMINATORS = [2, 4, 8, 16, 32, 64];
/** @type {Record<string, string>} */
const SIGNS = { "″": '"', "”": '"', "“": '"', "⁄": "/", "½": " 1/2", "¼": " 1/4", "¾": " 3/4", "⅛": " 1/8", "⅜": " 3/8", "⅝": " 5/8", "⅞": " 7/8" };
/** Nothing is longer than 50 m. */
const MOST = 50e3;

/**
 * A length in mm, or null for what is none. A number without a unit is in the
 * given one; a fraction is in inches. With `signed` it may be negative.
 * @param {string} text @param {Unit} unit @param {boolean} [signed] @returns {number | null}
 */
export function parseLength(text, unit, signed = false) {
  let t = text.replace(/''/g, '"').replace(/[″”“⁄½¼¾⅛⅜⅝⅞]/g, (c) => SIGNS[c]).toLowerCase().trim().replace(/\s+/g, " ");
  const minus = /^[-−]\s*/.exec(t);
  if (minus && !signed) return null;
  if (minus) t = t.slice(minus[0].length);
  const m = /^([0-9][0-9./, -]*|[.,][0-9]+) ?([a-z"]*)$/.exec(t);
  if (!m) return null;
  const given = m[2] ? NAMES[m[2]] : undefined;
  if (m[2] && !given) return null;
  const mm = numberIn(m[1].trim(), given, unit);
  return mm === null || mm > MOST ? null : minus ? -mm : mm;
}

/** @param {string} text @param {Unit | undefined} given @param {Unit} unit */
function numberIn(text, given, unit) {
  if (/^(\d{1,6}([.,]\d{0,9})?|[.,]\d{1,9})$/.test(text)) return +text.replace(",", ".") * MM[given ?? unit];
  const f = /^(?:(\d{1,6})[ -])?(\d{1,3})\/(\d{1,3})$/.exec(text);
  if (!f || (given && given !== "in") || !DENOMINATORS.includes(+f[3]) || +f[2] >= +f[3]) return null;
  return (+(f[1] ?? 0) + +f[2] / +f[3]) * MM.in;
}

/** A length for a person to read: to a tenth of a millimetre, or the nearest sixteenth of an inch. @param {number} mm @param {Unit} unit */
export function formatLength(mm, unit) {
  if (unit !== "in") return `${+(Math.round(mm * 10) / 10 / MM[unit]).toFixed(2)} ${unit}`;
  const minus = mm < 0 ? "-" : "", n = Math.round((Math.abs(mm) / 25.4) * 16), whole = Math.floor(n / 16);
  let num = n % 16, den = 16;
  while (num > 0 && num % 2 === 0) [num, den] = [num / 2, den / 2];
  const parts = num === 0 ? `${whole}` : whole === 0 ? `${num}/${den}` : `${whole} ${num}/${den}`;
  return `${n === 0 ? "" : minus}${parts}"`;
}
