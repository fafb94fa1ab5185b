// What a dragged point or handle of the outline is drawn to.

import { chainLength } from "../geom/arc.js";
import { drawnTo, guidesOf, handleGuides, lengthOff } from "../geom/guides.js";
import { sub, unit } from "../geom/vec.js";
import { readPiece } from "../model/codec.js";
import { find } from "../model/doc.js";
import { spanAt, spanOf, spans } from "../model/edges.js";
import { grainOf } from "../model/marks.js";
import { agreed } from "../model/walk.js";
import * as board from "../state/board.js";
import * as ed from "../state/editor.js";
import { pieces } from "../state/garments.js";
import { edgeName } from "../state/pairing.js";

/** @import {Doc, Hit, Point, Run} from "../types" */
/** @import {Fold, Guide} from "../geom/guides.js" */

/** How near a line draws, in pixels: fingers are less steady. */
const REACH = { mouse: 7, touch: 12 };

/** @param {Hit} held @returns {(p: Point, pointer: string) => Point} */
export function magnet(held) {
  const doc = ed.doc.value, place = doc && (held.kind === "knot" || held.kind === "handle") ? find(doc, held.id) : null;
  if (!doc || !place) return (p) => p;
  const ring = doc.rings[place.ring], turn = ((grainOf(doc) ?? 90) * Math.PI) / 180, up = { x: Math.cos(turn), y: Math.sin(turn) };
  const guides = held.kind === "handle" ? handleGuides(ring, place.index, held.side, up) : [...guidesOf(ring, place.index, ed.selection.value, up, foldsOf(doc)), ...lengths(doc, place)];
  return (p, pointer) => {
    const { at, on } = ed.snapping.value ? drawnTo(p, guides, (pointer === "touch" ? REACH.touch : REACH.mouse) / ed.viewport.value.scale) : { at: p, on: [] };
    ed.agrees.value = on.length > 0 ? { at, on } : null;
    return at;
  };
}

/** @param {Doc} doc @returns {Fold[]} */
function foldsOf(doc) {
  const lines = [
    ...spans(doc).filter((s) => s.edge.finish.kind === "fold").map((s) => ({ name: s.edge.name, a: s.chain[0].a, b: s.chain[s.chain.length - 1].d })),
    ...doc.marks.filter((m) => m.kind === "fold-line" && m.points?.length === 2).map((m) => ({ name: m.text ?? "", a: /** @type {Point[]} */ (m.points)[0], b: /** @type {Point[]} */ (m.points)[1] })),
  ];
  return lines.flatMap((l) => { const dir = unit(sub(l.b, l.a)); return dir ? [{ at: l.a, dir, name: l.name }] : []; });
}

/** The edges at a knot that are paired, as lengths to be reached. @param {Doc} doc @param {NonNullable<ReturnType<typeof find>>} place @returns {Guide[]} */
function lengths(doc, place) {
  if (place.ring > 0 || ed.selection.value.size > 1) return [];
  const ring = doc.rings[0], after = spanAt(doc, place.knot.id), before = spanAt(doc, place.before.id);
  return [...new Set([after, before])].flatMap((s) => {
    const want = s && wanted(s.edge.id);
    return s && want ? [{ at: place.knot.at, dir: { x: 1, y: 0 }, why: /** @type {const} */ ("length"), name: want.name, off: lengthOff(ring, place.index, s === before, s === after, chainLength(s.chain) - want.mm) }] : [];
  });
}

/** How long an edge of this piece must be to fit what it is sewn to. @param {string} edge */
function wanted(edge) {
  const run = { piece: ed.piece.value?.id ?? "", edge };
  for (const pair of board.lists.value.seam_pairs) {
    const fit = agreed(pair, run, board.report.value?.seams.find((r) => r.id === pair.id), sum);
    if (fit) return { mm: fit.mm, name: edgeName(fit.other) };
  }
  return null;
}

/** @param {readonly Run[]} runs */
const sum = (runs) => runs.reduce((l, r) => {
  const w = pieces.value.get(r.piece), d = r.piece === ed.piece.value?.id ? ed.doc.value : w ? readPiece(w) : null, s = d && spanOf(d, r.edge);
  return l + (s ? chainLength(s.chain) : NaN);
}, 0);
