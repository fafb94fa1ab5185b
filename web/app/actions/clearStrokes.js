import { freeze } from "../model/doc.js";

/** @import {Action} from "../types" */

/** Forgets all brush strokes; the outline stays. @returns {Action} */
export const clearStrokes = () => (doc) => (doc.strokes.length === 0 ? doc : freeze({ ...doc, strokes: [] }));
