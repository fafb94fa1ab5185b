// What all pages share: where we are, the look, and what is said to the person.

import { computed, effect, signal } from "@preact/signals";

/** The steps of a piece in their order; one is free to go to any of them. */
export const STEPS = /** @type {const} */ (["photo", "outline", "edges", "marks", "check", "print"]);
/** @typedef {(typeof STEPS)[number]} Step */
/** @typedef {{ page: "home" } | { page: "garment" | "lay" | "sheet" | "wear" | "photo" | "known" | "piece", id: string, step: Step }} Route */

/** @param {string} hash @returns {Route} */
export function readRoute(hash) {
  const m = /^#\/(garment|photo|known|piece)\/([\w-]+)(?:\/(\w+))?$/.exec(hash);
  // What belongs to the whole garment has pages of its own below it.
  const page = m?.[1] === "garment" && (m[3] === "lay" || m[3] === "sheet" || m[3] === "wear") ? m[3] : m?.[1];
  return m ? { page: /** @type {"garment" | "lay" | "sheet" | "wear" | "photo" | "known" | "piece"} */ (page), id: m[2], step: STEPS.find((s) => s === m[3]) ?? "outline" } : { page: "home" };
}

const hash = signal(location.hash);
addEventListener("hashchange", () => (hash.value = location.hash));
export const route = computed(() => readRoute(hash.value));

/** @param {string} to */
export const go = (to) => { location.hash = to; };

/** @typedef {"auto" | "light" | "dark"} Theme */

const THEME = "secondcut.theme";

/** Reads a setting; storage may be switched off. @param {string} key */
export function recall(key) {
  try {
    return localStorage.getItem(key);
  } catch {
    return null;
  }
}

/** @param {string} key @param {string | null} value */
export function remember(key, value) {
  try {
    if (value === null) localStorage.removeItem(key);
    else localStorage.setItem(key, value);
    return true;
  } catch {
    return false;
  }
}

const kept = recall(THEME);
export const theme = signal(/** @type {Theme} */ (kept === "light" || kept === "dark" ? kept : "auto"));
effect(() => {
  document.documentElement.dataset.theme = theme.value;
  remember(THEME, theme.value === "auto" ? null : theme.value);
});

const UNIT = "secondcut.unit";

/** What lengths are shown in, and typed in where no unit is given. */
export const unit = signal(/** @type {"cm" | "in"} */ (recall(UNIT) === "in" ? "in" : "cm"));
effect(() => { remember(UNIT, unit.value === "cm" ? null : unit.value); });

/** What was last said; screen readers read it out, and it stands on the page for a while. */
export const said = signal(/** @type {{ text: string, remedy: string, id: number } | null} */ (null));
let count = 0;
let timer = 0;

/** @param {string} text @param {string} [remedy] */
export function say(text, remedy = "") {
  said.value = { text, remedy, id: ++count };
  clearTimeout(timer);
  timer = setTimeout(() => (said.value = null), remedy ? 12000 : 6000);
}

export const hush = () => (said.value = null);

/** Whether the help is open. */
export const helpOpen = signal(false);
/** Whether the list of all commands is open. */
export const paletteOpen = signal(false);

/** The step of the piece that is worked on. */
export const step = computed(() => (route.value.page === "piece" ? route.value.step : "outline"));

/** @param {string} id @param {Step} to */
export const stepURL = (id, to) => `#/piece/${id}/${to}`;
