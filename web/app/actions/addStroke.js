import { freeze } from "../model/doc.js";

/** @import {Action, Stroke} from "../types" */

/** Adds a brush stroke. @param {Stroke} stroke @returns {Action} */
export const addStroke = (stroke) => (doc) => freeze({ ...doc, strokes: [...doc.strokes, stroke] });
