import { add, distance, length, sub, times, unit } from "../geom/vec.js";
import { find, mapKnots } from "../model/doc.js";

/** @import {Action, Knot, Point} from "../types" */

/**
 * Makes a knot a corner, or smooth. A corner keeps its handles where they are.
 * A smooth knot's handles are turned into one line: that of the neighbouring
 * straight stretch if there is one, else the mean of both. A knot between two
 * straight stretches gets handles of a third of their lengths.
 * @param {number} id @param {boolean} corner @returns {Action}
 */
export const setCorner = (id, corner) => (doc) => {
  const place = find(doc, id);
  if (!place || place.knot.corner === corner) return doc;
  const next = corner ? { ...place.knot, corner } : smoothed(place.knot, place.before, place.after);
  return mapKnots(doc, (k) => (k.id === id ? next : k));
};

/** @param {Knot} k @param {Knot} before @param {Knot} after @returns {Knot} */
function smoothed(k, before, after) {
  const lineIn = !k.in && !before.out, lineOut = !k.out && !after.in;
  const dir = direction(k, before, after, lineIn, lineOut);
  if (!dir) return { ...k, corner: false };
  const both = lineIn && lineOut;
  /** @param {Point | null} handle @param {Point} to */
  const reach = (handle, to) => (handle ? length(sub(handle, k.at)) : distance(k.at, to) / 3);
  return {
    ...k,
    corner: false,
    in: lineIn && !both ? null : add(k.at, times(dir, -reach(k.in, before.at))),
    out: lineOut && !both ? null : add(k.at, times(dir, reach(k.out, after.at))),
  };
}

/** @param {Knot} k @param {Knot} before @param {Knot} after @param {boolean} lineIn @param {boolean} lineOut */
function direction(k, before, after, lineIn, lineOut) {
  const come = unit(sub(k.at, k.in ?? before.at)), go = unit(sub(k.out ?? after.at, k.at));
  if (lineIn && !lineOut) return come;
  if (lineOut && !lineIn) return go;
  if (!come || !go) return come ?? go;
  return unit(add(come, go)) ?? come;
}
