// Photos go to the service in parts: where the connection breaks, only a part is sent again.

import * as api from "../api.js";

/** @import {Face, Photo, WirePrint} from "../types" */

/** Bytes in a part. A slow phone sends one in some seconds. */
const PART = 512 * 1024;
/** How long is waited before a part that did not arrive is sent again. */
const PAUSES_MS = [500, 1000, 2000, 4000, 8000];
/** A browser keeps six connections to a host at most, and the rest of the page needs some. */
const MOST_AT_ONCE = 3;

let sending = 0;
/** Those who wait for their turn, first come first served. @type {(() => void)[]} */
const waiting = [];

/** Runs what is to be done when it is its turn. @template T @param {() => Promise<T>} work @returns {Promise<T>} */
async function inTurn(work) {
  if (sending === MOST_AT_ONCE) await new Promise((go) => waiting.push(() => go(null)));
  else sending++;
  try {
    return await work();
  } finally {
    const next = waiting.shift();
    if (next) next();
    else sending--;
  }
}

/** Waits, but no longer than until the browser has a connection again. @param {number} ms */
const pause = (ms) => new Promise((go) => {
  const timer = setTimeout(done, ms);
  function done() {
    clearTimeout(timer);
    removeEventListener("online", done);
    go(null);
  }
  addEventListener("online", done);
});

/**
 * Sends a photo, and goes on where it was when the connection breaks, also when it is called again with the same key.
 * @param {string} garment @param {File} file @param {Face} face @param {WirePrint} print @param {string} key
 * @returns {Promise<{ photo: Photo, job_id: string }>}
 */
export const sendPhoto = (garment, file, face, print, key) => inTurn(async () => {
  for (let tries = 0; ; tries++) {
    try {
      let u = await api.beginUpload(garment, file, face, print, key);
      while (u.received < u.size) {
        u = await api.sendPart(u, file.slice(u.received, u.received + PART));
        tries = 0;
      }
      return await api.finishUpload(u.id);
    } catch (e) {
      // One that another try has moved on is looked at again.
      const again = e instanceof api.Problem && (e.passing || e.code === "wrong-offset");
      if (!again || tries === PAUSES_MS.length) throw e;
      await pause(PAUSES_MS[tries] ?? 0);
    }
  }
});
