// Keeps a document on the service without the person's doing: sends it a moment
// after the last change, keeps what is not sent yet on this device, tries again
// while there is no connection, and stops when someone else changed the piece.
// Time, network and storage come from outside, so that it can be tested.

import { readPiece, writePiece } from "../model/codec.js";
import { fault } from "../model/validate.js";

/** @import {Doc, SaveState, WirePiece} from "../types" */

const WAIT_MS = 600;
const RETRY_MS = [2000, 4000, 8000, 15000, 30000];

/**
 * @typedef {object} Ports
 * @property {(edit: ReturnType<typeof writePiece>, etag: string) => Promise<{ piece: WirePiece, etag: string }>} put
 * @property {(draft: { etag: string, edit: ReturnType<typeof writePiece> } | null) => void} keep writes the draft at once, or forgets it
 * @property {(state: SaveState) => void} tell
 * @property {(piece: WirePiece, etag: string, sent: Doc) => void} stored called with what the service now holds, and what it was sent
 * @property {(fault: string) => string} explain the person's words for a fault
 * @property {(run: () => void, ms: number) => () => void} later returns a function that calls it off
 */

/** Whether two documents would be stored as the same. @param {Doc} a @param {Doc} b */
export const equal = (a, b) => a === b || JSON.stringify(writePiece(a)) === JSON.stringify(writePiece(b));

/** @param {Ports} ports @param {Doc} doc what the service holds @param {string} etag */
export function createSaver(ports, doc, etag) {
  let saved = doc, latest = doc, tag = etag, running = false, stopped = false, tries = 0;
  let callOff = () => {}, sending = Promise.resolve(true);

  /** @param {number} ms */
  const soon = (ms) => {
    callOff();
    callOff = ports.later(() => void flush(), ms);
  };

  /** @param {Doc} next */
  function edit(next) {
    if (next === latest) return;
    latest = next;
    if (latest === saved && !running) return settle();
    ports.keep({ etag: tag, edit: writePiece(latest) });
    if (stopped) return;
    const bad = fault(latest);
    callOff();
    if (bad) return ports.tell({ kind: "rejected", why: ports.explain(bad) });
    if (!running) ports.tell({ kind: "waiting" });
    soon(WAIT_MS);
  }

  function settle() {
    callOff();
    ports.keep(null);
    ports.tell({ kind: "saved" });
  }

  /** Sends what is not sent, or waits for what is being sent; true when the service holds the latest document. */
  async function flush() {
    callOff();
    if (running) return sending;
    if (stopped || fault(latest)) return latest === saved;
    return (sending = sendAll());
  }

  async function sendAll() {
    running = true;
    try {
      while (latest !== saved && !stopped && !fault(latest)) {
        ports.tell({ kind: "saving" });
        await send(latest);
      }
      if (latest === saved) settle();
    } catch (e) {
      failed(/** @type {any} */ (e));
    } finally {
      running = false;
    }
    return latest === saved;
  }

  /** @param {Doc} sending */
  async function send(sending) {
    try {
      const answer = await ports.put(writePiece(sending), tag);
      took(sending, answer.piece, answer.etag);
    } catch (e) {
      const p = /** @type {{ status?: number, current?: WirePiece | null }} */ (e);
      // The answer to an earlier try may have been lost on its way back.
      if (p.status !== 412 || !p.current || !equal(readPiece(p.current), sending)) throw e;
      took(sending, p.current, `"v${p.current.version}"`);
    }
  }

  /** @param {Doc} sent @param {WirePiece} piece @param {string} newTag */
  function took(sent, piece, newTag) {
    [saved, tag, tries] = [sent, newTag, 0];
    ports.stored(piece, tag, sent);
    if (latest !== saved) ports.keep({ etag: tag, edit: writePiece(latest) });
  }

  /** @param {{ status?: number, passing?: boolean, current?: WirePiece | null, message: string }} p */
  function failed(p) {
    if (p.status === 412 && p.current) return conflict(p.current, `"v${p.current.version}"`);
    if (p.passing === false) return ports.tell({ kind: "rejected", why: p.message });
    ports.tell({ kind: "unsent", why: p.message });
    soon(RETRY_MS[Math.min(tries++, RETRY_MS.length - 1)]);
  }

  /** @param {WirePiece} theirs @param {string} theirTag */
  function conflict(theirs, theirTag) {
    stopped = true;
    callOff();
    ports.tell({ kind: "conflict", theirs, etag: theirTag });
  }

  return {
    edit, flush, conflict,
    /** Whether the service holds everything. */
    clean: () => latest === saved && !running,
    /** The version that the service held last. */
    etag: () => tag,
    /** Goes on from another version that the service holds; `held` is its document. @param {Doc} held @param {string} newTag @param {Doc} present */
    rebase(held, newTag, present) {
      [saved, latest, tag, stopped, tries] = [held, held, newTag, false, 0];
      if (present === held) settle();
      else edit(present);
    },
    /** Stops for good; what is not sent stays kept on this device. */
    close() {
      stopped = true;
      callOff();
    },
  };
}
