// The page's own drawings: a needle's line, round ends, 24 x 24.

import { html } from "./html.js";

/** @type {Record<string, unknown>} */
const shapes = {
  move: html`<path d="M3 18C6 8 12 16 14 10" /><circle cx="15" cy="8" r="3" class="solid" /><path d="M19 13l2 2-2 2M21 15h-5" />`,
  add: html`<path d="M3 19C8 19 8 12 12 12s5-2 9-6" /><circle cx="12" cy="12" r="2.5" class="solid" /><path d="M6 3v6M3 6h6" />`,
  cloth: html`<path d="M4 12h9v9H4zM7 12v9M10 12v9M4 15h9M4 18h9" /><path d="M14 11l6-7 1 1-6 7-2 1z" class="solid" />`,
  "not-cloth": html`<path d="M4 12h9v9H4z" stroke-dasharray="1.5 3" /><path d="M14 11l6-7 1 1-6 7-2 1z" class="solid" />`,
  undo: html`<path d="M9 5L4 9l5 4M4 9h10a5 5 0 0 1 0 10h-4" />`,
  redo: html`<path d="M15 5l5 4-5 4M20 9H10a5 5 0 0 0 0 10h4" />`,
  plus: html`<path d="M12 5v14M5 12h14" />`,
  minus: html`<path d="M5 12h14" />`,
  fit: html`<path d="M3 7V3h4M21 7V3h-4M3 17v4h4M21 17v4h-4" /><path d="M8 16l1-8 4 1 3-1-1 8z" />`,
  back: html`<path d="M14 5l-7 7 7 7" />`,
  check: html`<path d="M4 13l5 5L20 6" />`,
  dots: html`<circle cx="5" cy="12" r="1.5" class="solid" /><circle cx="12" cy="12" r="1.5" class="solid" /><circle cx="19" cy="12" r="1.5" class="solid" />`,
  broken: html`<path d="M2 12c3-4 5 3 8 0M14 12c3-4 5 3 8 0M12 5v3M12 16v3" />`,
  info: html`<circle cx="12" cy="12" r="9" /><path d="M12 11v6M12 7v.5" />`,
  warning: html`<path d="M12 2l10 10-10 10L2 12z" /><path d="M12 7v6M12 16.5v.5" />`,
  error: html`<path d="M8 2h8l6 6v8l-6 6H8l-6-6V8z" /><path d="M9 9l6 6M15 9l-6 6" />`,
  now: html`<circle cx="12" cy="12" r="6" class="solid" />`,
  later: html`<circle cx="12" cy="12" r="6" stroke-dasharray="2 3" />`,
  camera: html`<path d="M3 8h4l2-3h6l2 3h4v11H3z" /><circle cx="12" cy="13" r="3.5" />`,
  picture: html`<path d="M3 5h18v14H3zM3 16l5-5 4 4 3-3 6 5" />`,
  card: html`<path d="M3 3h18v18H3z" stroke-dasharray="2 2.5" /><path d="M8 8h8v8H8z" class="solid" />`,
  bin: html`<path d="M4 7h16M9 7V4h6v3M6 7l1 13h10l1-13" />`,
  help: html`<path d="M8 9a4 4 0 1 1 5 4c-1 .4-1 1-1 2M12 18.5v.5" />`,
  down: html`<path d="M12 4v11M7 11l5 5 5-5M5 20h14" />`,
  corner: html`<path d="M4 20V6h14" /><path d="M2.500 4.500h3v3h-3z" class="solid" />`,
  smooth: html`<path d="M4 20C4 10 10 6 20 6" /><circle cx="8" cy="10" r="2" class="solid" />`,
  line: html`<path d="M5 19L19 5" /><circle cx="5" cy="19" r="2" class="solid" /><circle cx="19" cy="5" r="2" class="solid" />`,
  curve: html`<path d="M5 19C5 9 10 5 19 5" /><circle cx="5" cy="19" r="2" class="solid" /><circle cx="19" cy="5" r="2" class="solid" />`,
  prev: html`<path d="M13 6l-6 6 6 6M18 8v8" />`,
  next: html`<path d="M11 6l6 6-6 6M6 8v8" />`,
  up: html`<path d="M5 15l7-7 7 7" />`,
  closeX: html`<path d="M6 6l12 12M18 6L6 18" />`,
};

/** A drawing beside a text that says the same; screen readers pass it over. @param {{ name: string }} props */
export const Icon = ({ name }) =>
  html`<svg class="icon" viewBox="0 0 24 24" width="24" height="24" aria-hidden="true" focusable="false">${shapes[name]}</svg>`;

/** The product's sign: a cut piece with its stitch line. */
export const Sign = () => html`<svg class="sign" viewBox="0 0 32 32" width="32" height="32" aria-hidden="true" focusable="false">
  <path class="sign-cut" d="M6 28L4 12C9 12 11 8 11 4h10c0 4 2 8 7 8l-2 16z" />
  <path class="sign-stitch" d="M9 25L7.500 14.500C11.500 13.500 13.500 10.500 14 7h4c.5 3.500 2.500 6.500 6.500 7.500L23 25z" />
</svg>`;
