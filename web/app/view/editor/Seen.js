// What the photo shows of the edge before it was cleaned, and how well the clean
// edge is known, drawn on demand.

import { useComputed } from "@preact/signals";
import { doubtText } from "../../format.js";
import { segment } from "../../geom/cubic.js";
import { chainPath, ringPath } from "../../geom/ring.js";
import { seenOf } from "../../state/session.js";
import * as ed from "../../state/editor.js";
import { texts } from "../../texts.js";
import { html } from "../html.js";

/** @import {Ring, WirePoint} from "../../types" */

const T = texts.seen;

/** The stretch of a ring from one knot to another; all of it where they are the same. @param {Ring} ring @param {number} from @param {number} to */
const stretch = (ring, from, to) => Array.from({ length: ((to - from + ring.length - 1) % ring.length) + 1 }, (_, i) => segment(ring, (from + i) % ring.length));

/** @param {readonly WirePoint[]} pts */
const closed = (pts) => pts.map(([x, y], i) => `${i ? "L" : "M"}${x} ${y}`).join("") + "Z";

/** Raw edge, what was taken off or filled in, and the band of doubt. */
export function SeenLayer() {
  const drawn = useComputed(() => {
    const s = (ed.showRaw.value || ed.showBand.value) && ed.settled.value ? seenOf(ed.settled.value) : null;
    if (!s) return null;
    const raw = s.seen.map((e) => closed(e.points_mm)).join("");
    return { raw, both: raw + s.rings.map(ringPath).join(""), bands: s.seen.flatMap((e, i) => e.doubts.map((d) => ({ d: chainPath(stretch(s.rings[i], d.from, d.to)), wide: 2 * d.uncertainty_mm }))) };
  }).value;
  if (!drawn) return null;
  return html`${ed.showBand.value && drawn.bands.map((b, i) => html`<path key=${i} class="band" d=${b.d} stroke-width=${b.wide} />`)}
    ${ed.showRaw.value && html`<path class="removed" d=${drawn.both} /><path class="rim raw" d=${drawn.raw} /><path class="raw" d=${drawn.raw} />`}`;
}

/** What of it is shown. */
export function SeenChoice() {
  const doc = ed.settled.value, s = doc && seenOf(doc);
  if (!s) return html`<p class="quiet">${T.none}</p>`;
  const all = s.seen.flatMap((e) => e.doubts), worst = Math.max(...all.map((d) => d.uncertainty_mm)), least = Math.min(...all.map((d) => d.uncertainty_mm)), fray = Math.max(...all.map((d) => d.fray_mm));
  /** @param {{ value: boolean }} on @param {string} label */
  const box = (on, label) => html`<label class="inline"><input type="checkbox" checked=${on.value} onChange=${(/** @type {any} */ e) => (on.value = e.currentTarget.checked)} />${label}</label>`;
  return html`${box(ed.showRaw, T.raw)}<p class="quiet how-to">${T.rawHow(doubtText(fray))}</p>${box(ed.showBand, T.band)}<p class="quiet how-to">${T.bandHow(doubtText(least), doubtText(worst))}</p>`;
}
