// Choose, drag and draw marks.

import { addMark, changeMark } from "../actions/marks.js";
import { marksDrawn, newMark, placedAt, wants } from "../model/marks.js";
import { sub } from "../geom/vec.js";
import { texts } from "../texts.js";
import { reach } from "./hit.js";

/** @import {Mark, Pixel, Point} from "../types" */
/** @import {Bench, Tool} from "./bench" */

const L = texts.editor.labels;

/** @param {Bench} bench @returns {Tool} */
export function markTool(bench) {
  /** @type {{ mark: Mark, point: number | null } | null} */
  let held = null;
  let last = { x: 0, y: 0 };

  /** The nearest grip of any mark under the pointer. @param {Pixel} at @param {string} pointer */
  function under(at, pointer) {
    let best = null, least = reach(pointer);
    for (const { mark, points } of marksDrawn(bench.doc()))
      points.forEach((p, i) => {
        const q = bench.toPixel(p), d = Math.hypot(q.x - at.x, q.y - at.y);
        if (d <= least) [best, least] = [{ mark, point: mark.points && mark.points.length > 1 ? i : null }, d];
      });
    return /** @type {typeof held} */ (best);
  }

  /** @param {Mark} mark @param {Point} from @param {Point} to @param {number | null} point */
  function drag(mark, from, to, point) {
    if (mark.kind === "notch") {
      const there = placedAt(bench.doc(), to, Infinity);
      if (there) bench.drag(changeMark(mark.id, there), L.moveMark);
    } else if (mark.points) {
      const by = sub(to, from), all = mark.points;
      bench.drag(changeMark(mark.id, { points: all.map((p, i) => (point === null || i === point ? { x: p.x + by.x, y: p.y + by.y } : p)) }), L.moveMark);
    }
  }

  return {
    gesture(g) {
      if (g.type === "tap" || g.type === "double") bench.chooseMark(under(g.at, g.pointer)?.mark.id ?? null);
      else if (g.type === "dragstart") {
        held = under(g.from, g.pointer);
        last = g.from;
        if (held) bench.chooseMark(held.mark.id);
      } else if (g.type === "drag") {
        if (held) drag(held.mark, bench.toPlane(g.from), bench.toPlane(g.at), held.point);
        else bench.pan(g.at.x - last.x, g.at.y - last.y);
        if (held && g.pointer === "touch") bench.loupe(bench.toPlane(g.at));
        last = g.at;
      } else if (g.type === "dragend") {
        held = null;
        bench.endDrag();
      }
    },
    cancel() {
      held = null;
      bench.cancelDrag();
    },
  };
}

/** Draws the mark that was asked for: as many taps as it has points, or one drag. @param {Bench} bench @returns {Tool} */
export function placeTool(bench) {
  /** @param {Point} p */
  function add(p) {
    const now = bench.placing();
    if (!now) return;
    const points = [...now.points, p];
    if (points.length < wants(now.kind)) return bench.setPlacing({ ...now, points });
    finish(now.kind, points);
  }

  /** @param {import("../types").MarkKind} kind @param {Point[]} points */
  function finish(kind, points) {
    const made = newMark(bench.doc(), kind, points, texts.marks.newText);
    if (!made) return bench.say(texts.marks.tapEdge);
    bench.perform(addMark(made), L.addMark);
    bench.placed(made.id);
  }

  return {
    gesture(g) {
      if (g.type === "tap" || g.type === "double") add(bench.snap(g.at, g.pointer).at);
      else if (g.type === "dragstart") bench.setPlacing(wants(bench.placing()?.kind ?? "text") === 1 ? bench.placing() : { kind: bench.placing()?.kind ?? "line", points: [bench.snap(g.from, g.pointer).at] });
      else if (g.type === "drag") {
        bench.ghost(bench.snap(g.at, g.pointer).at);
        if (g.pointer === "touch") bench.loupe(bench.snap(g.at, g.pointer).at);
      } else if (g.type === "dragend") {
        bench.loupe(null);
        bench.ghost(null);
        add(bench.snap(g.at, g.pointer).at);
      } else if (g.type === "hover") bench.ghost(bench.snap(g.at, g.pointer).at);
    },
    cancel() {
      bench.ghost(null);
      bench.loupe(null);
      bench.setPlacing(null);
    },
  };
}
