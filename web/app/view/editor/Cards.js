// The scale cards where the service found them, with what each measures, and what
// else was noticed in the photo.

import { number } from "../../format.js";
import { toPixel } from "../../geom/viewport.js";
import * as ed from "../../state/editor.js";
import { noticed } from "../../state/noticed.js";
import { texts } from "../../texts.js";
import { html } from "../html.js";

/** Half the side of a card, millimetres. */
const HALF = 40;

const found = () => (ed.showCards.value ? ed.photo.value?.trace?.calibration.cards ?? [] : []);

export const Cards = () => found().map((c) => html`<path key=${c.id} class=${`card-edge ${c.used ? "" : "unused"}`}
  transform=${`translate(${c.centre_mm[0]} ${c.centre_mm[1]}) rotate(${c.turn_deg})`} d=${`M${-HALF} ${-HALF}H${HALF}V${HALF}H${-HALF}z`} />`);

/** Where what was noticed is, under the number that it has in the list. */
const Noticed = () => noticed.value.map((f, i) => {
  if (!f.where_mm) return null;
  const q = toPixel(ed.viewport.value, { x: f.where_mm[0], y: f.where_mm[1] });
  return html`<g key=${i} class=${`noticed ${f.severity}`} transform=${`translate(${q.x} ${q.y})`}><path d="M0 -15L15 0L0 15L-15 0z" /><text dy="5">${i + 1}</text></g>`;
});

export const CardLabels = () => html`<${Labels} /><${Noticed} />`;

function Labels() {
  const v = ed.viewport.value;
  // A small card gets a small label, a tiny one none: it would hide the card.
  if (v.scale * HALF < 16) return null;
  const small = v.scale * HALF < 38;
  return found().map((c) => {
    const q = toPixel(v, { x: c.centre_mm[0], y: c.centre_mm[1] });
    const value = c.used ? `${number(c.measured_mm, 2)} mm` : texts.editor.unused;
    return html`<g key=${c.id} class="card-label" transform=${`translate(${q.x} ${q.y})`}>
      ${small
        ? html`<rect x="-25" y="-9" width="50" height="18" rx="4" /><text dy="4" class="strong small">${c.used ? number(c.measured_mm, 2) : texts.editor.unused}</text>`
        : html`<rect x="-42" y="-20" width="84" height="40" rx="4" /><text dy="-4">${texts.editor.cardLabel(c.id)}</text><text dy="12" class="strong">${value}</text>`}</g>`;
  });
}
