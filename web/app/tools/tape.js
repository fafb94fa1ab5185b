// Measure between two places: tap both, or drag from one to the other.

/** @import {Snap} from "../types" */
/** @import {Bench, Tool} from "./bench" */

/** @param {Bench} bench @returns {Tool} */
export function tapeTool(bench) {
  /** @type {Snap | null} */
  let from = null;
  return {
    gesture(g) {
      if (g.type === "tap" || g.type === "double") {
        const here = bench.snap(g.at, g.pointer);
        if (from) bench.tape(from, here);
        else bench.tape(here, null);
        from = from ? null : here;
      } else if (g.type === "dragstart") {
        from = bench.snap(g.from, g.pointer);
      } else if (g.type === "drag" && from) {
        const to = bench.snap(g.at, g.pointer);
        bench.tape(from, to);
        if (g.pointer === "touch") bench.loupe(to.at);
      } else if (g.type === "dragend") {
        from = null;
        bench.loupe(null);
      }
    },
    cancel() {
      from = null;
      bench.loupe(null);
      bench.tape(null, null);
    },
  };
}
