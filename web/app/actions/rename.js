import { freeze } from "../model/doc.js";

/** @import {Action} from "../types" */

/** @param {string} name @returns {Action} */
export const rename = (name) => (doc) => (doc.name === name ? doc : freeze({ ...doc, name }));
