// Nothing in hand: a drag moves the view.

/** @import {Bench, Tool} from "./bench" */

/** Moves the view with a drag; other gestures go to `tap`. @param {Bench} bench @param {(g: { at: import("../types").Pixel, pointer: string }) => void} [tap] @returns {Tool} */
export function lookTool(bench, tap) {
  let last = { x: 0, y: 0 };
  return {
    gesture(g) {
      if (g.type === "tap" || g.type === "double") tap?.(g);
      else if (g.type === "dragstart") last = g.from;
      else if (g.type === "drag") {
        bench.pan(g.at.x - last.x, g.at.y - last.y);
        last = g.at;
      }
    },
    cancel() {},
  };
}
