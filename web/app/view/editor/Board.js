// All pieces of the garment on one board, upright along their grain: tap two
// edges that get sewn together.

import { useEffect, useMemo, useRef, useState } from "preact/hooks";
import { chainPath, ringPath } from "../../geom/ring.js";
import { distance } from "../../geom/vec.js";
import { readPiece } from "../../model/codec.js";
import { spans } from "../../model/edges.js";
import { toPiece } from "../../model/plan.js";
import * as board from "../../state/board.js";
import * as store from "../../state/garments.js";
import { edgeNames, pairEdge } from "../../state/pairing.js";
import { texts } from "../../texts.js";
import { html } from "../html.js";
import { pointAt } from "../../geom/arc.js";
import { walked } from "../../model/walk.js";
import { Walk } from "./Walk.js";

/** @import {Doc, Point, Run, Segment, WirePiece} from "../../types" */
/** @import {Span} from "../../model/edges.js" */

const T = texts.check;
const GAP = 60;

/** @typedef {{ piece: WirePiece, doc: Doc, spans: Span[], map: (p: Point) => Point }} Laid */

/** Pieces side by side in rows, in mm, y down, so that they fill a box of some shape best. @param {WirePiece[]} all @param {number} shape width by height @returns {{ laid: Laid[], width: number, height: number }} */
function arrange(all, shape) {
  const boxes = all.map((piece) => {
    const doc = readPiece(piece), frame = doc.frame ?? { turn: 0, move: { x: 0, y: 0 } };
    const pts = doc.rings[0].map((k) => toPiece(frame, k.at));
    const minX = Math.min(...pts.map((p) => p.x)), minY = Math.min(...pts.map((p) => p.y)), maxX = Math.max(...pts.map((p) => p.x)), maxY = Math.max(...pts.map((p) => p.y));
    return { piece, doc, frame, minX, minY, w: maxX - minX, h: maxY - minY, maxY };
  });
  const tries = boxes.map((_, i) => rows(boxes, boxes.slice(0, i + 1).reduce((s, b) => s + b.w + GAP, GAP)));
  /** @param {{ width: number, height: number }} t */
  const scale = (t) => Math.min(shape / t.width, 1 / t.height);
  const best = tries.reduce((a, b) => (scale(b) > scale(a) ? b : a));
  const laid = boxes.map((b, i) => {
    const at = best.at[i];
    return { piece: b.piece, doc: b.doc, spans: spans(b.doc), map: (/** @type {Point} */ p) => { const q = toPiece(b.frame, p); return { x: at.x + q.x - b.minX, y: at.y + b.maxY - q.y }; } };
  });
  return { laid, width: best.width, height: best.height };
}

/** Boxes in rows that are no wider than said. @param {{ w: number, h: number }[]} boxes @param {number} wide */
function rows(boxes, wide) {
  let x = GAP, y = GAP, row = 0, width = 0;
  const at = boxes.map((b) => {
    if (x > GAP && x + b.w + GAP > wide + 1e-6) [x, y, row] = [GAP, y + row + GAP, 0];
    const here = { x, y };
    [x, row, width] = [x + b.w + GAP, Math.max(row, b.h), Math.max(width, x + b.w + GAP)];
    return here;
  });
  return { at, width, height: y + row + GAP };
}

/** @param {Segment[]} chain @param {(p: Point) => Point} map @returns {Segment[]} */
const mapped = (chain, map) => chain.map((s) => ({ ...s, a: map(s.a), b: map(s.b), c: map(s.c), d: map(s.d) }));

/** Each seam has a colour and a number; eight colours, then they come again. */
const COLOURS = 8;

/** @param {{ piece: string }} props */
export function Board({ piece }) {
  const pieces = [...store.pieces.value.values()];
  const box = useRef(/** @type {HTMLElement | null} */ (null));
  const [size, setSize] = useState({ w: 400, h: 300 });
  useEffect(() => {
    const el = box.current;
    if (!el) return;
    const observer = new ResizeObserver(() => setSize({ w: Math.max(el.clientWidth, 100), h: Math.max(el.clientHeight, 100) }));
    observer.observe(el);
    return () => observer.disconnect();
  }, []);
  const { laid, width, height } = useMemo(() => (pieces.length ? arrange(pieces, size.w / size.h) : { laid: [], width: 1, height: 1 }), [store.pieces.value, size.w / size.h]);
  const unit = Math.max(width / size.w, height / size.h); // mm a pixel
  const pairs = board.mode.value === "seam" ? board.lists.value.seam_pairs : board.lists.value.curve_pairs.map((c) => ({ ...c, a: [c.a], b: [c.b] }));
  /** @type {Map<string, number>} */
  const pairOf = new Map();
  pairs.forEach((p, i) => [...p.a, ...p.b].forEach((r) => pairOf.set(`${r.piece} ${r.edge}`, i)));
  const held = board.held.value, open = pairs.find((p) => p.id === board.open.value);
  const titles = useMemo(() => edgeNames(pieces), [store.pieces.value]);
  const walks = useMemo(() => (open ? walked(open, (r) => laid.find((l) => l.piece.id === r.piece)?.spans.find((s) => s.edge.id === r.edge)?.chain ?? []) : new Map()), [open, laid]);
  return html`<div ref=${box} class="board" role="group" aria-label=${T.canvas}>
    ${pieces.length === 0 && html`<p>${texts.loading}</p>`}
    <svg viewBox=${`0 0 ${width} ${height}`} focusable="false">
      ${laid.map((l) => html`<g key=${l.piece.id} class=${l.piece.id === piece ? "here" : ""}>
        <path class="board-cloth" d=${ringPath(l.doc.rings[0].map((k) => ({ ...k, at: l.map(k.at), in: k.in && l.map(k.in), out: k.out && l.map(k.out) })))} />
        ${l.spans.map((s) => html`<${EdgeOn} key=${s.edge.id} laid=${l} span=${s} title=${titles.get(`${l.piece.id} ${s.edge.id}`)} pair=${pairOf.get(`${l.piece.id} ${s.edge.id}`)} held=${held?.piece === l.piece.id && held.edge === s.edge.id}
          run=${open ? [...open.a, ...open.b].find((r) => r.piece === l.piece.id && r.edge === s.edge.id) : undefined} walk=${walks.get(`${l.piece.id} ${s.edge.id}`)} unit=${unit} />`)}
        <${Name} laid=${l} unit=${unit} paired=${l.spans.some((s) => pairOf.has(`${l.piece.id} ${s.edge.id}`))} /></g>`)}
    </svg>
  </div>`;
}

/** @param {{ laid: Laid, unit: number, paired: boolean }} props */
function Name({ laid, unit, paired }) {
  const pts = laid.doc.rings[0].map((k) => laid.map(k.at)), xs = pts.map((p) => p.x), ys = pts.map((p) => p.y);
  const left = Math.min(...xs), top = Math.min(...ys), wide = Math.max(...xs) - left, n = Math.max(laid.piece.name.length, 1);
  const size = Math.min(unit * 15, (1.5 * wide) / n);
  // In a narrow piece the numbers of its sides take the middle.
  const part = paired && 0.6 * size * n + 44 * unit > wide ? 0.8 : 0.5;
  return html`<text class="board-name" font-size=${size} x=${left + wide / 2} y=${top + part * (Math.max(...ys) - top)}>${laid.piece.name}</text>`;
}

/**
 * One edge, with a wide strip to tap.
 * @param {{ laid: Laid, span: Span, title: string, pair: number | undefined, held: boolean, run: Run | undefined, walk: { from: number, over: number, step: number } | undefined, unit: number }} props unit is a pixel of the screen, mm
 */
function EdgeOn({ laid, span, title, pair, held, run, walk, unit }) {
  const chain = mapped(span.chain, laid.map), d = chainPath(chain), a = chain[0].a, b = chain[chain.length - 1].d;
  /** @param {MouseEvent} e */
  const onClick = (e) => {
    const svg = /** @type {SVGGraphicsElement} */ (e.currentTarget), m = svg.getScreenCTM();
    if (!m) return;
    const p = new DOMPoint(e.clientX, e.clientY).matrixTransform(m.inverse());
    pairEdge({ piece: laid.piece.id, edge: span.edge.id, ...(distance(p, b) < distance(p, a) && { reverse: true }) });
  };
  const start = run && (run.reverse ? b : a), mid = pointAt(chain, 0.5);
  return html`<g class=${`board-edge ${held ? "held" : ""} ${run ? "open" : ""} ${span.edge.finish.kind === "fold" ? "fold" : ""}`} data-pair=${pair === undefined ? undefined : pair % COLOURS}>
    <path class="shown" d=${d} />
    ${start && html`<circle class="start" cx=${start.x} cy=${start.y} r=${unit * 6} />`}
    ${pair !== undefined && html`<circle class="pair-disc" cx=${mid.x} cy=${mid.y} r=${unit * 9} /><text class="pair-number" font-size=${unit * 11.5} x=${mid.x} y=${mid.y + unit * 4}>${pair + 1}</text>`}
    ${run && walk && html`<${Walk} chain=${chain} reverse=${run.reverse ?? false} ...${walk} unit=${unit} />`}
    <path class="strip" d=${d} onClick=${onClick}><title>${title}</title></path></g>`;
}
