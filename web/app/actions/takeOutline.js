import { freeze } from "../model/doc.js";

/** @import {Action, Ring, Sure} from "../types" */

/** Puts another outline, and what is known about it, in place of the present one; the service lays the edges on it. @param {readonly Ring[]} rings @param {Sure} sure @returns {Action} */
export const takeOutline = (rings, sure) => (doc) => freeze({ ...doc, rings, sure, edges: null });
