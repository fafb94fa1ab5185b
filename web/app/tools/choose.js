// Choose an edge, or a stretch between two points, by tapping the outline.

import { find } from "../model/doc.js";
import { lookTool } from "./look.js";

/** @import {Bench, Tool} from "./bench" */

/** @param {Bench} bench @returns {Tool} */
export const edgeTool = (bench) => lookTool(bench, (g) => bench.chooseEdge(bench.onOutline(g.at, g.pointer)));

/** @param {Bench} bench @returns {Tool} */
export const axisTool = (bench) => lookTool(bench, (g) => bench.axis(bench.snap(g.at, g.pointer).at));

/** @param {Bench} bench @returns {Tool} */
export const stretchTool = (bench) => lookTool(bench, (g) => {
  const h = bench.hit(g.at, g.pointer);
  let id = h.kind === "knot" ? h.id : null;
  if (h.kind === "segment") {
    const at = find(bench.doc(), h.place.id);
    id = at && (h.place.t < 0.5 ? at.knot.id : at.after.id);
  }
  const ring = id === null ? null : find(bench.doc(), id);
  bench.stretch(ring && id !== null ? { ring: ring.ring, id } : null);
});
