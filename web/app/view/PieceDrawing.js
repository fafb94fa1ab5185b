// A piece as a small drawing in true proportion.

import { bounds, ringPath } from "../geom/ring.js";
import { readPiece } from "../model/codec.js";
import { texts } from "../texts.js";
import { html } from "./html.js";
import { len } from "./lengths.js";

/** @import {Doc, WirePiece} from "../types" */

/** Room for the largest piece, in pixels: on a phone two stand side by side. */
const room = () => (innerWidth < 480 ? { wide: 132, high: 150 } : { wide: 180, high: 190 });

/** @type {WeakMap<WirePiece, Doc>} */
const read = new WeakMap();

/** The document of a piece, read once. @param {WirePiece} p */
export function docOf(p) {
  let d = read.get(p);
  if (!d) read.set(p, (d = readPiece(p)));
  return d;
}

/** Pixels per millimetre at which the largest of the pieces fits its slip. @param {WirePiece[]} all */
export function commonScale(all) {
  const { wide, high } = room();
  return Math.min(...all.map((p) => {
    const b = bounds(docOf(p).rings);
    return Math.min(wide / (b.maxX - b.minX), high / (b.maxY - b.minY));
  }), 1);
}

/** @param {{ piece: WirePiece, scale: number }} props */
export const PieceDrawing = ({ piece, scale }) => html`<${DocDrawing} doc=${docOf(piece)} scale=${scale} />`;

/** @param {{ doc: Doc, scale: number }} props */
export function DocDrawing({ doc, scale }) {
  const b = bounds(doc.rings), pad = 4;
  const w = (b.maxX - b.minX) * scale + 2 * pad, h = (b.maxY - b.minY) * scale + 2 * pad;
  return html`<svg class="drawing" width=${w} height=${h} viewBox=${`0 0 ${w} ${h}`} aria-hidden="true" focusable="false">
    <path transform=${`matrix(${scale} 0 0 ${-scale} ${pad - b.minX * scale} ${pad + b.maxY * scale})`} d=${doc.rings.map(ringPath).join("")} />
  </svg>`;
}

/** How wide and high a piece is, in words. @param {WirePiece} p */
export function sizeOf(p) {
  const xs = p.knots.map((k) => k.at[0]), ys = p.knots.map((k) => k.at[1]);
  /** @param {number[]} v */
  const span = (v) => len(Math.round(Math.max(...v) - Math.min(...v)));
  return texts.garment.size(span(xs), span(ys));
}
