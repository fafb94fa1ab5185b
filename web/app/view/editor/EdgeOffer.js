import { commands } from "../../commands.js";
import { spans } from "../../model/edges.js";
import * as ed from "../../state/editor.js";
import { texts } from "../../texts.js";
import { html } from "../html.js";
import { Do } from "./Bench.js";

const T = texts.edges;

/** The chosen edge and what can be done where the person pointed. */
export function EdgeOffer() {
  const e = ed.edge.value, doc = ed.doc.value;
  if (!doc || !e) return html`<div class="offer"><span class="what quiet">${doc?.edges ? T.how : T.waiting}</span></div>`;
  const all = spans(doc), i = all.findIndex((s) => s.edge.id === e.id);
  return html`<div class="offer at-edge">
    <div class="row"><${Do} id="prevEdge" icon="prev" bare=${true} /><span class="what" role="status"><strong>${i + 1}. ${e.name}</strong></span><${Do} id="nextEdge" icon="next" bare=${true} />
    ${commands.cutEdge.available?.() && html`<${Do} id="cutEdge" icon="cut" />`}
    ${!commands.cutEdge.available?.() && commands.joinEdge.available?.() && ed.spot.value?.id === e.knot && html`<${Do} id="joinEdge" icon="join" />`}</div>
  </div>`;
}
