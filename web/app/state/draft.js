// The cut line as the service draws it for the document as it is now. The last
// one stays, dimmed, until the new one comes.

import { effect, signal } from "@preact/signals";
import * as api from "../api.js";
import { writePiece } from "../model/codec.js";
import { readDraft } from "../model/draft.js";
import { fault } from "../model/validate.js";
import { step, unit } from "./app.js";
import * as ed from "./editor.js";
import { explain } from "./problems.js";

/** @import {Doc, Draft} from "../types" */

export const draft = signal(/** @type {Draft | null} */ (null));
/** Whether the draft is of an older document. */
export const stale = signal(false);
/** Why nothing could be drawn, and the edge that is to blame, or null. */
export const trouble = signal(/** @type {{ title: string, remedy: string, edge: string | null } | null} */ (null));

const WAIT_MS = 120;
const SHOWN = ["edges", "marks"];

/** Keeps the draft up to date until the returned function is called. */
export function follow() {
  let timer = 0, drawn = /** @type {Doc | null} */ (null), drawnIn = "";
  let asking = new AbortController();
  draft.value = trouble.value = null;
  const stop = effect(() => {
    const doc = ed.settled.value, id = ed.piece.value?.id, inUnit = unit.value, wanted = SHOWN.includes(step.value);
    if (ed.dragging.value && wanted) stale.value = true;
    if (!doc || !id || !wanted || (doc === drawn && inUnit === drawnIn) || !doc.frame || !doc.edges || fault(doc)) return;
    stale.value = true;
    clearTimeout(timer);
    timer = setTimeout(async () => {
      asking.abort();
      const mine = (asking = new AbortController());
      try {
        const got = await api.draftPiece(id, writePiece(doc), inUnit, mine.signal);
        if (mine.signal.aborted || !doc.frame) return;
        [drawn, drawnIn] = [doc, inUnit];
        [draft.value, trouble.value] = [readDraft(got, doc.frame), null];
        stale.value = doc !== ed.settled.value;
      } catch (e) {
        if (!mine.signal.aborted) trouble.value = said(doc, e);
      }
    }, draft.value ? WAIT_MS : 0);
  });
  return () => {
    stop();
    clearTimeout(timer);
    asking.abort();
    draft.value = null;
  };
}

/** What is wrong, with the edge's name in place of the field's. @param {Doc} doc @param {unknown} e */
function said(doc, e) {
  const { title, remedy } = explain(e), field = /** @type {{ field?: string }} */ (e).field ?? "";
  const m = /edges\[(\d+)\]/.exec(field), edge = (m && doc.edges?.[+m[1]]) ?? null;
  return { title: edge && title.startsWith(field) ? `${edge.name}: ${title.slice(field.length).trim()}` : title, remedy, edge: edge?.id ?? null };
}
