// Wear of the garment that is open: what twins and seams would correct, and what of it
// the person chose.

import { computed, signal } from "@preact/signals";
import * as api from "../api.js";
import { texts } from "../texts.js";
import { say } from "./app.js";
import { refresh } from "./garments.js";
import { explain, sayProblem } from "./problems.js";

/** @import {EdgeRef, Pair, Reconciled} from "../wear" */

export const found = signal(/** @type {Reconciled | null} */ (null));
export const trouble = signal(/** @type {{ title: string, remedy: string } | null} */ (null));
export const busy = signal(false);
/** The pairs that are known of, and those that are left out of it. */
export const pairs = signal(/** @type {readonly Pair[]} */ ([]));
export const apart = signal(/** @type {ReadonlySet<string>} */ (new Set()));
/** Edges that are not to move. */
const refused = signal(/** @type {ReadonlySet<string>} */ (new Set()));

let id = "", etag = "", asked = 0;

/** @param {EdgeRef} e */
export const keyOf = (e) => `${e.piece}/${e.edge}`;
/** @param {Pair} p */
export const pairKey = (p) => `${p.a}=${p.b}`;

/** @param {EdgeRef} e */
export const accepted = (e) => !refused.value.has(keyOf(e));
export const chosen = computed(() => (found.value?.moves ?? []).filter(accepted).map(({ piece, edge }) => ({ piece, edge })));

const twins = () => pairs.value.filter((p) => !apart.value.has(pairKey(p)));

/** Begins with a garment. @param {string} garment */
export function open(garment) {
  id = garment;
  [found.value, trouble.value, pairs.value, apart.value, refused.value] = [null, null, [], new Set(), new Set()];
  return () => { id = ""; asked++; };
}

/** Compares anew; the first time the service looks for twins. @param {boolean} [keep] whether the pairs are those that are shown */
export async function compare(keep = found.value !== null) {
  if (!id) return;
  const turn = ++asked;
  busy.value = true;
  try {
    const none = refused.value.size === 0;
    const got = await api.reconcile(id, { ...(keep && { twins: twins() }), ...(!none && { accept: chosen.value }) });
    if (turn !== asked) return;
    etag = got.etag;
    if (!keep) pairs.value = got.result.twins.map(({ a, b }) => ({ a, b }));
    [found.value, trouble.value] = [got.result, null];
  } catch (e) {
    if (turn === asked) [found.value, trouble.value] = [null, explain(e)];
  } finally {
    if (turn === asked) busy.value = false;
  }
}

/** @param {readonly EdgeRef[]} edges @param {boolean} on */
export function choose(edges, on) {
  const next = new Set(refused.value);
  for (const e of edges) on ? next.delete(keyOf(e)) : next.add(keyOf(e));
  refused.value = next;
  void compare();
}

/** @param {Pair} p */
export function toggle(p) {
  const next = new Set(apart.value);
  if (!next.delete(pairKey(p))) next.add(pairKey(p));
  apart.value = next;
  void compare();
}

/** Takes two pieces for mirror images; each has one. @param {Pair} p */
export function pair(p) {
  const has = (/** @type {Pair} */ q) => [q.a, q.b].some((x) => x === p.a || x === p.b);
  pairs.value = [...pairs.value.filter((q) => !has(q)), p];
  apart.value = new Set([...apart.value].filter((k) => pairs.value.some((q) => pairKey(q) === k)));
  void compare();
}

/** Moves what is chosen. */
export async function accept() {
  const mine = id;
  busy.value = true;
  try {
    const { pieces } = await api.acceptReconciled(id, { twins: twins(), accept: chosen.value }, etag);
    say(texts.wear.done(pieces.length));
    refused.value = new Set();
    if (id === mine) await refresh(mine);
  } catch (e) {
    failed(e);
  }
  if (id === mine) await compare(true); // else the person has left
}

/** Takes an edge from the twin. @param {Pair} p @param {EdgeRef} e @param {string} name */
export async function borrow({ a, b }, e, name) {
  const mine = id;
  busy.value = true;
  try {
    const now = await api.getPiece(e.piece);
    await api.borrowEdge(id, { a, b, ...e }, now.etag);
    say(texts.wear.borrowed(name));
    if (id === mine) await refresh(mine);
  } catch (x) {
    failed(x);
  }
  if (id === mine) await compare(true); // else the person has left
}

/** @param {any} e */
function failed(e) {
  if (e?.status === 412) say(texts.wear.stale);
  else sayProblem(e);
}
