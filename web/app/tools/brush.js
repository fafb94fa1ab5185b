// Paint "cloth" or "not cloth"; each finished stroke asks for a new trace.

import { distance } from "../geom/vec.js";

/** @import {Pixel, Point, StrokeKind} from "../types" */
/** @import {Bench, Tool} from "./bench" */

/** Points of a stroke stand at least this part of the brush's width apart. */
const STEP = 1 / 6;

/** @param {StrokeKind} kind @returns {(bench: Bench) => Tool} */
export const brushTool = (kind) => (bench) => {
  /** @type {Point[]} */
  let points = [];

  /** @param {Pixel} at */
  function draw(at) {
    const p = bench.toPlane(at);
    if (points.length > 0 && distance(p, points[points.length - 1]) < bench.brushWidth() * STEP) return;
    points = [...points, p];
    bench.wet({ kind, width: bench.brushWidth(), points });
  }

  function finish() {
    if (points.length > 0) bench.stroke({ kind, width: bench.brushWidth(), points });
    clear();
  }

  function clear() {
    points = [];
    bench.wet(null);
  }

  return {
    gesture(g) {
      if (g.type === "hover") bench.brushAt(bench.toPlane(g.at));
      else if (g.type === "tap") {
        draw(g.at);
        finish();
      } else if (g.type === "dragstart") draw(g.from);
      else if (g.type === "drag") {
        bench.brushAt(g.pointer === "touch" ? null : bench.toPlane(g.at));
        draw(g.at);
      } else if (g.type === "dragend") finish();
    },
    cancel() {
      clear();
      bench.brushAt(null);
    },
  };
};
