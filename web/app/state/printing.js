// What is printed, on which paper, and how many sheets that makes.

import { computed, effect, signal } from "@preact/signals";
import * as api from "../api.js";
import { writePrint } from "../model/print.js";
import { recall, remember, step, unit } from "./app.js";
import * as ed from "./editor.js";
import { explain } from "./problems.js";
import { print } from "./printer.js";

const PAPER = "secondcut.paper";
export const PAPERS = /** @type {const} */ (["a4", "letter", "a3", "tabloid", "a2", "a1", "a0", "roll:914", "one"]);

export const paper = signal(/** @type {(typeof PAPERS)[number]} */ (PAPERS.find((p) => p === recall(PAPER)) ?? "a4"));
effect(() => { remember(PAPER, paper.value === "a4" ? null : paper.value); });
export const what = signal(/** @type {"piece" | "garment"} */ ("piece"));
export const unfold = signal(false);
/** Whether the PDF makes up for what the printer is off by. */
export const correct = signal(true);
/** Names of the sheets that are printed again; empty for all. */
export const tiles = signal("");

/** The printer's rulers where they were measured and count. */
const printer = computed(() => (correct.value ? writePrint(print.value) : {}));

/** @returns {Record<string, string>} */
export const drawing = () => ({ unit: unit.value, ...(unfold.value && { unfold: "true" }) });

/** @returns {Record<string, string>} */
export const pdf = () => ({
  format: "pdf", paper: paper.value, ...drawing(),
  ...(tiles.value && { tiles: tiles.value.toUpperCase().replace(/[\s;]+/g, ",").replace(/,+/g, ",") }),
  ...Object.fromEntries(Object.entries(printer.value).map(([k, v]) => [k, String(v)])),
});

/** Papers on which a piece is one page, without a page of its own for the map. @type {readonly string[]} */
export const LARGE = ["one", "a2", "a1", "a0", "roll:914"];

/** How many pages the PDF has; null while that is asked. */
export const pages = signal(/** @type {number | null} */ (null));
export const trouble = signal(/** @type {{ title: string, remedy: string } | null} */ (null));

const WAIT_MS = 250;

/** Keeps the count up to date until the returned function is called. */
export function follow() {
  let timer = 0, asking = new AbortController();
  const stop = effect(() => {
    const p = ed.piece.value, saved = ed.saveState.value.kind === "saved", options = pdf();
    if (!p || step.value !== "print" || !saved) return;
    const url = what.value === "piece" ? api.exportURL(p.id, options) : api.garmentURL(p.garment_id, options);
    pages.value = null;
    clearTimeout(timer);
    timer = setTimeout(async () => {
      asking.abort();
      const mine = (asking = new AbortController());
      try {
        const n = await api.countPages(url, mine.signal);
        if (!mine.signal.aborted) [pages.value, trouble.value] = [n, null];
      } catch (e) {
        if (!mine.signal.aborted) trouble.value = explain(e);
      }
    }, WAIT_MS);
  });
  return () => { stop(); clearTimeout(timer); asking.abort(); };
}

/** A map of the sheets, of the stored version; null while nothing is to be mapped. */
export const map = computed(() => {
  const p = ed.piece.value;
  if (!p || LARGE.includes(paper.value)) return null;
  const options = { format: "svg", sheets: "true", paper: paper.value, ...drawing(), v: String(p.version) };
  return what.value === "piece" ? api.exportURL(p.id, options) : api.garmentURL(p.garment_id, options);
});

/** A picture of what is printed, of the stored version. */
export const preview = computed(() => {
  const p = ed.piece.value;
  if (!p) return null;
  const options = { format: "png", ...drawing(), v: String(p.version) };
  return what.value === "piece" ? api.exportURL(p.id, options) : api.garmentURL(p.garment_id, options);
});
