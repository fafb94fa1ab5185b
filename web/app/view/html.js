import { h } from "preact";
import htm from "htm";

/** Markup as a template; attributes as in HTML, handlers as onClick. */
export const html = htm.bind(h);
