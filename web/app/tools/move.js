// Select and move points and handles. States: idle -> pressed -> dragging | panning.

import { moveHandle } from "../actions/moveHandle.js";
import { moveKnots } from "../actions/moveKnots.js";
import { sub, add } from "../geom/vec.js";
import { find } from "../model/doc.js";
import { texts } from "../texts.js";
import { addPoint } from "./add.js";

/** @import {Gesture, Hit, Point} from "../types" */
/** @import {Bench, Tool} from "./bench" */

const L = texts.editor.labels;

/** @param {Bench} bench @returns {Tool} */
export function moveTool(bench) {
  /** @type {Hit} */
  let held = { kind: "none" };
  /** @type {Point | null} where the dragged point or handle was */
  let origin = null;
  /** @type {(p: Point, pointer: string) => Point} */
  let magnet = (p) => p;
  let last = { x: 0, y: 0 };

  /** @param {Gesture & { type: "tap" }} g */
  function tap(g) {
    const h = bench.hit(g.at, g.pointer);
    if (h.kind === "knot") toggle(h.id, g.extend);
    else if (h.kind !== "handle" && !g.extend) bench.select([]);
  }

  /** @param {number} id @param {boolean} extend */
  function toggle(id, extend) {
    const now = bench.selection();
    if (!extend) return bench.select([id]);
    bench.select(now.has(id) ? [...now].filter((x) => x !== id) : [...now, id]);
  }

  /** @param {Gesture & { type: "dragstart" }} g */
  function grab(g) {
    held = bench.hit(g.from, g.pointer);
    last = g.from;
    if (held.kind === "knot" && !bench.selection().has(held.id)) toggle(held.id, g.extend);
    const knot = held.kind === "handle" || held.kind === "knot" ? find(bench.doc(), held.id)?.knot : null;
    origin = knot ? (held.kind === "handle" ? knot[held.side] : knot.at) : null;
    if (knot) magnet = bench.magnet(held);
  }

  /** @param {Gesture & { type: "drag" }} g */
  function drag(g) {
    const by = sub(bench.toPlane(g.at), bench.toPlane(g.from)), free = origin && add(origin, by), to = free && (g.free ? free : magnet(free, g.pointer));
    if (g.free) bench.unmagnet();
    if (held.kind === "knot" && origin && to) bench.drag(moveKnots(bench.selection(), sub(to, origin)), L.move);
    else if (held.kind === "handle" && to) bench.drag(moveHandle(held.id, held.side, to), L.handle);
    else bench.pan(g.at.x - last.x, g.at.y - last.y);
    last = g.at;
    if (g.pointer === "touch" && (held.kind === "knot" || held.kind === "handle")) look();
  }

  /** The loupe looks at what moves: with a wandering finger that is not where the finger is. */
  function look() {
    const knot = held.kind === "knot" || held.kind === "handle" ? find(bench.doc(), held.id)?.knot : null;
    if (knot) bench.loupe(held.kind === "handle" ? knot[held.side] : knot.at);
  }

  return {
    gesture(g) {
      if (g.type === "tap") tap(/** @type {any} */ (g));
      else if (g.type === "double") addPoint(bench, g.at, g.pointer);
      else if (g.type === "dragstart") grab(/** @type {any} */ (g));
      else if (g.type === "drag") drag(/** @type {any} */ (g));
      else if (g.type === "dragend") bench.endDrag();
    },
    cancel: bench.cancelDrag,
  };
}
