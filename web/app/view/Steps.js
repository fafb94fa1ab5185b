// The whole job in four small pictures, drawn for this page.

import { texts } from "../texts.js";
import { html } from "./html.js";

const T = texts.home;
const SLEEVE = "M34 78L26 44C34 44 39 38 41 29C45 22 56 22 60 29C62 38 66 44 74 44L68 78z";

/** @param {number} x @param {number} y @param {number} turn */
const card = (x, y, turn) => html`<g transform=${`translate(${x} ${y}) rotate(${turn})`}><path class="pic-paper" d="M-7 -7h14v14h-14z" /><path class="pic-ink" d="M-3 -3h6v6h-6z" /></g>`;

const pictures = [
  html`<path class="pic-paper" d="M26 12h48v68H26z" />
    ${[0, 1, 2].map((r) => [0, 1].map((c) => html`<path class="pic-ink" d=${`M${35 + c * 20} ${20 + r * 18}h9v9h-9z`} />`))}
    <path class="pic-cut" d="M26 33h48M26 51h48M50 12v56" /><path class="pic-line" d="M32 74h36M32 71v6M50 72v4M68 71v6" />`,
  html`<path class="pic-cloth" d=${SLEEVE} />${card(18, 30, 20)}${card(84, 34, -15)}${card(16, 72, -8)}${card(84, 74, 30)}
    <path class="pic-paper" d="M42 3h20a2 2 0 0 1 2 2v7a2 2 0 0 1-2 2H42a2 2 0 0 1-2-2V5a2 2 0 0 1 2-2z" /><circle class="pic-ink" cx="46" cy="8.500" r="2" />`,
  html`<path class="pic-cloth" d=${SLEEVE} /><path class="pic-line" d=${SLEEVE} />
    ${[[34, 78], [26, 44], [41, 29], [60, 29], [74, 44], [68, 78]].map(([x, y]) => html`<circle class="pic-dot" cx=${x} cy=${y} r="3.500" />`)}
    <path class="pic-cut" d="M74 44l12 -8" /><circle class="pic-dot held" cx="86" cy="36" r="4.500" />`,
  html`<path class="pic-paper" d="M16 14h33v34H16zM51 14h33v34H51zM16 50h33v34H16zM51 50h33v34H51z" /><path class="pic-line" d=${SLEEVE} /><path class="pic-ink" d="M20 18h7v7h-7z" />`,
];

export const Steps = () => html`<section class="how" aria-labelledby="how-title"><h2 id="how-title">${T.stepsTitle}</h2>
  <ol>${T.steps.map(([what, more], i) => html`<li key=${what}><svg viewBox="0 0 100 92" aria-hidden="true" focusable="false">${pictures[i]}</svg><strong>${i + 1}. ${what}</strong><span class="quiet">${more}</span></li>`)}</ol>
</section>`;
