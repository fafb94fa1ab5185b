// Words that several texts are made with.

/** @param {number} n @param {string} word */
export const one = (n, word) => `${n} ${word}${n === 1 ? "" : "s"}`;

/** Below this certainty a grain is not printed, as the service holds it too. */
export const SHAKY = 0.6;

/** @param {number} sure */
export const howSure = (sure) => (sure >= 0.85 ? "sure" : sure >= SHAKY ? "fairly sure" : "only a guess");
