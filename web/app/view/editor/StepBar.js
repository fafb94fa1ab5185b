// The steps of a piece, free to move between.

import { STEPS, step, stepURL } from "../../state/app.js";
import * as ed from "../../state/editor.js";
import { todo } from "../../state/todo.js";
import { texts } from "../../texts.js";
import { html } from "../html.js";
import { Icon } from "../icons.js";

const T = texts.steps;

export function StepBar() {
  const id = ed.piece.value?.id ?? "", open = ed.settled.value ? todo(ed.settled.value, id) : null;
  return html`<nav class="steps" aria-label=${T.label}><ol>${STEPS.map((s) => {
    const n = open ? open.filter((t) => t.step === s).length : 0;
    return html`<li key=${s}><a href=${stepURL(id, s)} aria-current=${s === step.value ? "step" : undefined}><${Icon} name=${`step-${s}`} /><span>${T[s]}</span>
      ${n > 0 && html`<span class="open-count"><span aria-hidden="true">${n}</span><span class="sr">, ${T.open(n)}</span></span>`}</a></li>`;
  })}</ol></nav>`;
}

/** A link to the step after this one. */
export function NextStep() {
  const id = ed.piece.value?.id ?? "", next = STEPS[STEPS.indexOf(step.value) + 1];
  return next ? html`<a class="button main next-step" href=${stepURL(id, next)}>${T.next(T[next])}<${Icon} name="forward" /></a>` : null;
}
