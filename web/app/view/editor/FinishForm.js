// What becomes of an edge: the kind of finish, its widths, and usual ones with
// their sources.

import { useState } from "preact/hooks";
import { setEdges } from "../../actions/setEdge.js";
import { presets } from "../../state/presets.js";
import * as ed from "../../state/editor.js";
import { texts } from "../../texts.js";
import { html } from "../html.js";
import { Icon } from "../icons.js";
import { Choice, LengthField, len } from "../lengths.js";

/** @import {Edge, Finish, FinishKind, Preset} from "../../types" */

const T = texts.edges, L = texts.editor.labels;
const KINDS = /** @type {FinishKind[]} */ (["keep", "seam", "hem", "casing", "faced", "bound", "fold"]);

/** Where nothing else is said, mm: common practice. @type {Record<FinishKind, Finish>} */
const FIRST = {
  keep: { kind: "keep" }, seam: { kind: "seam", allowance_mm: 10 }, hem: { kind: "hem", depth_mm: 20, turns: 2, turn_under_mm: 10 },
  casing: { kind: "casing", holds: "elastic", width_mm: 10, ease_mm: 6, turn_under_mm: 6, opening_mm: 50 }, faced: { kind: "faced", allowance_mm: 6 }, bound: { kind: "bound" }, fold: { kind: "fold" },
};

/** A finish in a few words. @param {Finish} f */
export function finishText(f) {
  const kind = T.kinds[f.kind];
  if (f.kind === "seam" || f.kind === "faced") return `${kind} ${len(f.allowance_mm ?? 0)}${f.end_mm ? ` – ${len(f.end_mm)}` : ""}`;
  if (f.kind === "hem") return `${kind} ${len(f.depth_mm ?? 0)}, ${f.turns === 2 ? T.twice : T.once}`;
  if (f.kind === "casing") return `${kind}, ${f.holds === "cord" ? T.cord : T.elastic} ${len(f.width_mm ?? 0)}`;
  return kind;
}

/** @param {{ edge: Edge }} props */
export function FinishForm({ edge: e }) {
  const f = e.finish;
  /** @param {Finish} finish */
  const set = (finish) => {
    ed.lastFinish.value = tidy(finish);
    ed.perform(setEdges(new Set([e.id]), { finish: tidy(finish) }), L.edgeFinish);
  };
  return html`<fieldset class="finish"><legend>${T.finish}</legend>
    <div class="seg kinds">${KINDS.map((k) => html`<label key=${k} title=${T.kindHow[k]}><input type="radio" name=${`finish-${e.id}`} checked=${f.kind === k} onChange=${() => set(FIRST[k])} /><span>${T.kinds[k]}</span></label>`)}</div>
    <p class="quiet">${T.kindHow[f.kind]}</p>
    <${Widths} finish=${f} set=${set} />
    <${Usual} kind=${f.kind} now=${f} set=${set} />
    <${SameFor} edge=${e} />
  </fieldset>`;
}

/** Leaves out what is nothing. @param {Finish} f @returns {Finish} */
const tidy = (f) => /** @type {any} */ (Object.fromEntries(Object.entries(f).filter(([, v]) => v !== undefined && v !== null && v !== 0)));

/** @param {{ finish: Finish, set: (f: Finish) => void }} props */
function Widths({ finish: f, set }) {
  /** @param {keyof Finish} key @param {string} label @param {object} [more] */
  const width = (key, label, more = {}) => html`<${LengthField} key=${`${f.kind}-${key}`} label=${label} most=${300} value=${/** @type {number | undefined} */ (f[key]) ?? null} change=${(/** @type {number | null} */ mm) => set({ ...f, [key]: mm === null ? undefined : Math.round(mm * 1000) / 1000 })} ...${more} />`;
  if (f.kind === "seam") return html`${width("allowance_mm", T.allowance)}${width("end_mm", T.allowanceEnd, { empty: true, how: T.allowanceEndHow })}`;
  if (f.kind === "faced") return width("allowance_mm", T.faced);
  if (f.kind === "hem") return html`${width("depth_mm", T.depth)}
    <${Choice} label=${T.turns} value=${String(f.turns ?? 1)} options=${[["1", T.once], ["2", T.twice]]} change=${(/** @type {string} */ v) => set(v === "1" ? { kind: "hem", depth_mm: f.depth_mm, turns: 1 } : { ...f, turns: 2, turn_under_mm: Math.min(10, f.depth_mm ?? 10) })} />
    ${f.turns === 2 && width("turn_under_mm", T.underHem, { empty: true })}`;
  if (f.kind !== "casing") return null;
  return html`<${Choice} label=${T.holds} value=${f.holds ?? "elastic"} options=${[["elastic", T.elastic], ["cord", T.cord]]} change=${(/** @type {"elastic" | "cord"} */ v) => set({ ...f, holds: v, ...(v === "cord" && { elastic: undefined }) })} />
    ${width("width_mm", T.width)}${width("ease_mm", T.ease, { empty: true })}${width("turn_under_mm", T.under, { empty: true })}${width("opening_mm", T.opening, { empty: true })}
    ${f.holds === "elastic" && html`<${LengthField} label=${T.body} empty=${true} how=${T.bodyHow} value=${f.elastic?.body_mm ?? null} change=${(/** @type {number | null} */ mm) => set({ ...f, elastic: mm === null ? undefined : { ...f.elastic, body_mm: mm } })} />`}`;
}

/** Usual finishes of this kind, with where they come from. @param {{ kind: FinishKind, now: Finish, set: (f: Finish) => void }} props */
function Usual({ kind, now, set }) {
  const all = presets.value.filter((p) => p.finish.kind === kind);
  if (all.length === 0 || kind === "bound") return null;
  const same = (/** @type {Preset} */ p) => JSON.stringify(Object.entries(p.finish).sort()) === JSON.stringify(Object.entries(now).sort());
  const chosen = all.find(same);
  return html`<${Choice} label=${T.presets} value=${chosen?.id ?? ""} options=${[["", T.presetPick], ...all.map((p) => [p.id, `${p.part}${p.cloth === "any" ? "" : `, ${p.cloth}`}: ${brief(p.finish)}`])]} change=${(/** @type {string} */ id) => { const p = all.find((x) => x.id === id); if (p) set(p.finish); }}
    how=${chosen ? T.source(chosen.source) : undefined} />`;
}

/** @param {Finish} f */
const brief = (f) => len(f.kind === "hem" ? f.depth_mm ?? 0 : f.kind === "casing" ? f.width_mm ?? 0 : f.allowance_mm ?? 0);

/** @param {{ edge: Edge }} props */
function SameFor({ edge: e }) {
  const [open, setOpen] = useState(false);
  const others = ed.doc.value?.edges?.filter((x) => x.id !== e.id && JSON.stringify(x.finish) !== JSON.stringify(e.finish)) ?? [];
  if (others.length === 0) return null;
  return html`<button type="button" class="plain" aria-expanded=${open} onClick=${() => setOpen(!open)}><${Icon} name=${open ? "up" : "plus"} />${T.another}</button>
    ${open && html`<div class="chips">${others.map((x) => html`<button type="button" key=${x.id} class="chip" aria-label=${T.sameFor(x.name)} onClick=${() => ed.perform(setEdges(new Set([x.id]), { finish: e.finish }), L.edgeFinish)}>${x.name}</button>`)}</div>`}`;
}
