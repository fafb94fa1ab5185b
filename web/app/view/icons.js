// The page's own drawings: a needle's line, round ends, 24 x 24.

import { html } from "./html.js";

/** @type {Record<string, unknown>} */
const shapes = {
  move: html`<path d="M3 18C6 8 12 16 14 10" /><circle cx="15" cy="8" r="3" class="solid" /><path d="M19 13l2 2-2 2M21 15h-5" />`,
  add: html`<path d="M3 19C8 19 8 12 12 12s5-2 9-6" /><circle cx="12" cy="12" r="2.5" class="solid" /><path d="M6 3v6M3 6h6" />`,
  cloth: html`<path d="M4 12h9v9H4zM7 12v9M10 12v9M4 15h9M4 18h9" /><path d="M14 11l6-7 1 1-6 7-2 1z" class="solid" />`,
  "not-cloth": html`<path d="M4 12h9v9H4z" stroke-dasharray="1.5 3" /><path d="M14 11l6-7 1 1-6 7-2 1z" class="solid" />`,
  look: html`<path d="M2 12c4-6 7-8 10-8s6 2 10 8c-4 6-7 8-10 8s-6-2-10-8z" /><circle cx="12" cy="12" r="3" class="solid" />`,
  stretch: html`<path d="M3 17C7 5 9 19 12 12" stroke-dasharray="2 3" /><path d="M3 19L21 7" /><circle cx="3" cy="19" r="2" class="solid" /><circle cx="21" cy="7" r="2" class="solid" />`,
  mirror: html`<path d="M12 2v20" stroke-dasharray="3 2.5" /><path d="M9 5C3 8 3 15 7 19M15 5c6 3 6 10 2 14" />`,
  twin: html`<path d="M4 4c4 5 0 11 3 16" stroke-dasharray="2 3" /><path d="M20 4c-4 5 0 11-3 16M9 12h6M13 9.500l2.500 2.500-2.500 2.500" />`,
  snap: html`<path d="M6 3v8a6 6 0 0 0 12 0V3M10 3v8a2 2 0 0 0 4 0V3M6 7h4M14 7h4" /><path d="M3 21h18" stroke-dasharray="3 2" />`,
  angle: html`<path d="M20 20H3L15 4" /><path d="M12 20a9 9 0 0 0-3.500-7" />`,
  measure: html`<path d="M2 15L15 2l7 7L9 22zM6 11l2 2M9 8l3 3M12 5l2 2" />`,
  swap: html`<path d="M4 9a8 8 0 0 1 15-1M20 15a8 8 0 0 1-15 1M19 3v5h-5M5 21v-5h5" />`,
  cut: html`<circle cx="6" cy="6" r="3" /><circle cx="6" cy="18" r="3" /><path d="M8.500 8L21 18M8.500 16L21 6" />`,
  join: html`<path d="M3 12h7M14 12h7M10 8v8M14 8v8" />`,
  search: html`<circle cx="10" cy="10" r="6.500" /><path d="M15 15l6 6" />`,
  lay: html`<path d="M2 5h20v14H2z" /><path d="M5 8l6-1 1 9-6 1zM14 8h5v8h-4z" class="solid" />`,
  list: html`<path d="M9 6h12M9 12h12M9 18h12" /><path d="M3 6l1.500 1.500L7 4.500M3 12l1.500 1.500L7 10.500M3 18l1.500 1.500L7 16.500" />`,
  forward: html`<path d="M10 5l7 7-7 7" />`,
  print: html`<path d="M6 9V3h12v6M6 17H3V9h18v8h-3M7 14h10v7H7z" />`,
  "step-photo": html`<path d="M3 8h4l2-3h6l2 3h4v11H3z" /><circle cx="12" cy="13" r="3.500" />`,
  "step-outline": html`<path d="M5 20L4 9c4 0 5-3 6-6h5c0 4 2 6 6 6l-2 11z" /><circle cx="4" cy="9" r="2" class="solid" /><circle cx="5" cy="20" r="2" class="solid" />`,
  "step-edges": html`<path d="M7 3h14v18" /><path d="M3 7h13v14" stroke-dasharray="2.500 2.500" />`,
  "step-marks": html`<path d="M12 3v18M9 6l3-3 3 3M9 18l3 3 3-3" /><path d="M3 10h4M17 14h4" />`,
  "step-check": html`<path d="M4 3c4 5-2 13 2 18M11 3c4 5-2 13 2 18" /><path d="M16 13l2 2 4-4" />`,
  "step-print": html`<path d="M6 9V3h12v6M6 17H3V9h18v8h-3M7 14h10v7H7z" />`,
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
  open: html`<path d="M4 20V5h6l2 3h8v4M4 20l3-8h15l-3 8z" />`,
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
