import { addMark } from "../../actions/marks.js";
import { measure } from "../../geom/ring.js";
import { spans } from "../../model/edges.js";
import { newMark, wants } from "../../model/marks.js";
import { pointAt } from "../../geom/arc.js";
import * as ed from "../../state/editor.js";
import { texts } from "../../texts.js";
import { take } from "../../tools/index.js";
import { html } from "../html.js";
import { Icon } from "../icons.js";

const T = texts.marks;

export function MarkOffer() {
  const m = ed.mark.value;
  return html`<div class="offer"><span class="what ${m ? "" : "quiet"}" role="status">${m ? html`<strong>${T.kinds[m.kind]}</strong>` : T.how}</span></div>`;
}

/** What to do for the mark that is being drawn; those without a pointer have it put in the middle. */
export function PlaceOffer() {
  const p = ed.placing.value;
  if (!p) return null;
  return html`<div class="offer"><span class="what" role="status">${T.place[p.kind]}</span>
    <div class="row"><button type="button" onClick=${inTheMiddle}>${T.middle}</button><button type="button" onClick=${() => take("mark")}><${Icon} name="closeX" />${texts.cancel}</button></div></div>`;
}

/** Puts the mark in the middle of the chosen edge, or of the piece. */
function inTheMiddle() {
  const p = ed.placing.value, doc = ed.doc.value;
  if (!p || !doc) return;
  const c = measure(doc.rings[0]).centre, span = spans(doc).find((s) => s.edge.id === ed.edgeId.value) ?? spans(doc)[0];
  const upright = p.kind === "grain", on = p.kind === "notch" || p.kind === "snip";
  const reach = 60, ends = upright ? [{ x: c.x, y: c.y - reach }, { x: c.x, y: c.y + reach }] : [{ x: c.x - reach, y: c.y }, { x: c.x + reach, y: c.y }];
  const points = p.kind === "dart" && span ? [pointAt(span.chain, 0.5), c] : on && span ? [pointAt(span.chain, 0.5)] : wants(p.kind) === 1 ? [c] : ends;
  const made = newMark(doc, p.kind, points, T.newText);
  if (!made) return;
  ed.perform(addMark(made), texts.editor.labels.addMark);
  take("mark");
  ed.markId.value = made.id;
}
