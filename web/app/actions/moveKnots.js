import { add } from "../geom/vec.js";
import { mapKnots } from "../model/doc.js";

/** @import {Action, Point} from "../types" */

/**
 * Moves knots with their handles.
 * @param {ReadonlySet<number>} ids @param {Point} by millimetres @returns {Action}
 */
export const moveKnots = (ids, by) => (doc) =>
  by.x === 0 && by.y === 0
    ? doc
    : mapKnots(doc, (k) =>
        ids.has(k.id) ? { ...k, at: add(k.at, by), in: k.in && add(k.in, by), out: k.out && add(k.out, by) } : k,
      );
