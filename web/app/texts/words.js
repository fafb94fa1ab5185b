// Words that several texts are made with.

/** @param {number} n @param {string} word */
export const one = (n, word) => `${n} ${word}${n === 1 ? "" : "s"}`;

/** Below this certainty a grain is not printed, as the service holds it too. */
export const SHAKY = 0.6;

/** @param {number} sure */
export const howSure = (sure) => (sure >= 0.85 ? "sure" : sure >= SHAKY ? "fairly sure" : "only a guess");

/** How a direction lies in the photo; a right angle is upright. @param {number} deg from 0 to 180 @param {boolean} [photo] */
export function leaning(deg, photo = true) {
  const off = +Math.abs(deg - 90).toFixed(1), where = photo ? " on the photo" : "";
  return off === 0 ? `upright${where}` : off === 90 ? `level${where}` : `${off}° to the ${deg < 90 ? "right" : "left"} of upright${where}`;
}
