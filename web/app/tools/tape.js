// Measure between two places, or the angle at the second of three: tap them, or
// drag from the first to the second.

/** @import {Snap} from "../types" */
/** @import {Bench, Tool} from "./bench" */

/** @param {Bench} bench @returns {Tool} */
export function tapeTool(bench) {
  /** @type {Snap[]} */
  let set = [];
  /** @param {Snap[]} next */
  const put = (next) => {
    set = next;
    bench.tape(set);
  };
  return {
    gesture(g) {
      if (g.type === "tap" || g.type === "double") put([...(set.length >= bench.tapeEnds() ? [] : set), bench.snap(g.at, g.pointer)]);
      else if (g.type === "dragstart") set = [bench.snap(g.from, g.pointer)];
      else if (g.type === "drag" && set.length > 0) {
        const to = bench.snap(g.at, g.pointer);
        put([set[0], to]);
        if (g.pointer === "touch") bench.loupe(to.at);
      } else if (g.type === "dragend") bench.loupe(null);
    },
    cancel() {
      bench.loupe(null);
      put([]);
    },
  };
}
