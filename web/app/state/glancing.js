// Looks at a photo in the browser while it is being sent.

import { signal } from "@preact/signals";
import { glance, TILE } from "../model/glance.js";

/** @import {Advice} from "../model/glance.js" */

/** What was told of a photo, by the key of its upload. */
export const advice = signal(/** @type {ReadonlyMap<string, readonly Advice[]>} */ (new Map()));

/** Photos with more pixels would take too much memory here. */
const MOST_PIXELS = 60e6;
/** The longer side of the picture for brightness, px, and how many tiles are looked at across and down. */
const OVERVIEW = 256, ACROSS = 5, DOWN = 4;

/** @param {string} key @param {readonly Advice[]} list */
const tell = (key, list) => { advice.value = new Map([...advice.value, [key, list]]); };

/** Notes what can be told of a file; nothing of one that this browser cannot read. @param {string} key @param {File} file */
export async function look(key, file) {
  const picture = await createImageBitmap(file).catch(() => null);
  if (!picture) return;
  try {
    const { width, height } = picture;
    if (width < TILE || height < TILE || width * height > MOST_PIXELS) return;
    const canvas = document.createElement("canvas"), c = canvas.getContext("2d", { willReadFrequently: true });
    if (!c) return;
    /** @param {number} w @param {number} h @param {() => void} draw */
    const luma = (w, h, draw) => {
      [canvas.width, canvas.height] = [w, h];
      draw();
      const { data } = c.getImageData(0, 0, w, h), out = new Uint8ClampedArray(w * h);
      for (let i = 0; i < out.length; i++) out[i] = 0.299 * data[4 * i] + 0.587 * data[4 * i + 1] + 0.114 * data[4 * i + 2];
      return out;
    };
    const part = OVERVIEW / Math.max(width, height), w = Math.round(width * part), h = Math.round(height * part);
    const overview = luma(w, h, () => c.drawImage(picture, 0, 0, w, h));
    const tiles = Array.from({ length: ACROSS * DOWN }, (_, i) => {
      const x = ((width - TILE) * (i % ACROSS)) / (ACROSS - 1), y = ((height - TILE) * Math.floor(i / ACROSS)) / (DOWN - 1);
      return luma(TILE, TILE, () => c.drawImage(picture, Math.round(x), Math.round(y), TILE, TILE, 0, 0, TILE, TILE));
    });
    tell(key, glance({ pixels: width * height, overview, tiles }));
  } finally {
    picture.close();
  }
}

/** The keys of uploads that have become photos, by the ids of these. @type {Map<string, string>} */
const keys = new Map();

/** The upload has become a photo. @param {string} key @param {string} photo */
export const becomes = (key, photo) => { keys.set(photo, key); };

/** The key under which a photo was sent on this visit, or its id. @param {string} photo */
export const sentAs = (photo) => keys.get(photo) ?? photo;
