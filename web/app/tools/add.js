// Add points on the outline: tap, or press and drag the new point at once.

import { moveKnots } from "../actions/moveKnots.js";
import { splitSegment } from "../actions/splitSegment.js";
import { sub } from "../geom/vec.js";
import { freshId } from "../model/doc.js";
import { texts } from "../texts.js";

/** @import {Pixel} from "../types" */
/** @import {Bench, Tool} from "./bench" */

const L = texts.editor.labels;

/**
 * Adds a point where the pointer meets the outline and selects it; selects the
 * point that is already there instead.
 * @param {Bench} bench @param {Pixel} at @param {string} pointer @returns {boolean} whether anything was there
 */
export function addPoint(bench, at, pointer) {
  const h = bench.hit(at, pointer);
  if (h.kind === "knot") bench.select([h.id]);
  if (h.kind !== "segment") return h.kind === "knot";
  const id = freshId(bench.doc());
  bench.perform(splitSegment(h.place.id, h.place.t, id), L.add);
  bench.select([id]);
  return true;
}

/** @param {Bench} bench @returns {Tool} */
export function addTool(bench) {
  let last = { x: 0, y: 0 };
  let holds = false;
  return {
    gesture(g) {
      if (g.type === "hover") {
        const h = bench.hit(g.at, g.pointer);
        bench.ghost(h.kind === "segment" ? h.place.at : null);
      } else if (g.type === "tap") {
        bench.ghost(null);
        if (!addPoint(bench, g.at, g.pointer)) bench.select([]);
      } else if (g.type === "dragstart") {
        last = g.from;
        bench.ghost(null);
        holds = addPoint(bench, g.from, g.pointer);
      } else if (g.type === "drag") {
        if (holds) bench.drag(moveKnots(bench.selection(), sub(bench.toPlane(g.at), bench.toPlane(g.from))), L.move);
        else bench.pan(g.at.x - last.x, g.at.y - last.y);
        last = g.at;
      } else if (g.type === "dragend") bench.endDrag();
    },
    cancel() {
      bench.ghost(null);
      bench.cancelDrag();
    },
  };
}
