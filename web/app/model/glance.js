// What can be told of a photo in the browser, while it is being sent: whether it is
// blurred, dark, washed out or small. It only advises; the service looks closer.

/** @typedef {"small" | "dark" | "bright" | "blurred"} Advice */

/** The side of the tiles that are looked at, px. */
export const TILE = 256;

/** Messengers shrink photos to about 2 megapixels; a phone's own have 8 and more (common knowledge, no source). */
const FEW_PIXELS = 3e6;
/** The cards are white: in a photo where hardly anything is brighter than this, of 255, they are dark. */
const DARK = 120;
/** A larger share of pure white than this hides edges. */
const WASHED_OUT = 0.05;
/** How far from a pixel the edge that it is on may reach, px. */
const REACH = 8;
/** A difference of brightness within that reach which only edges make. */
const STRONG = 110;
/** Fewer pixels on strong edges say nothing. */
const ENOUGH = 300;
/**
 * The steepest slope of an edge, as a share of its height, in a sharp photo is 0.3 and
 * more, and falls with the blur: 0.20 at a standard deviation of 2 px, 0.15 at 3 px,
 * 0.13 at 4 px (measured on photos of 12 megapixels, sharp and blurred on purpose).
 */
const SLOPE = 0.145;

/**
 * @param {{ pixels: number, overview: Uint8ClampedArray, tiles: readonly Uint8ClampedArray[] }} seen the photo's
 * number of pixels; its brightness, scaled down; that of square tiles, as they are
 * @returns {Advice[]}
 */
export function glance({ pixels, overview, tiles }) {
  /** @type {Advice[]} */
  const out = [];
  if (pixels < FEW_PIXELS) out.push("small");
  const sorted = overview.slice().sort();
  if (sorted[Math.floor(0.99 * sorted.length)] < DARK) out.push("dark");
  if (overview.filter((v) => v >= 254).length > WASHED_OUT * overview.length) out.push("bright");
  const slopes = tiles.flatMap((t) => [...slopesOf(t, 1, TILE), ...slopesOf(t, TILE, 1)]).sort((a, b) => a - b);
  if (slopes.length >= ENOUGH && slopes[Math.floor(0.9 * slopes.length)] < SLOPE) out.push("blurred");
  return out;
}

/**
 * The steepest slope near each pixel on a strong edge, as a share of the edge's height.
 * @param {Uint8ClampedArray} tile @param {number} along from pixel to pixel of a line @param {number} next from line to line
 */
function slopesOf(tile, along, next) {
  /** @type {number[]} */
  const out = [];
  for (let line = 0; line < TILE; line += 2) {
    for (let i = REACH + 1; i < TILE - REACH - 1; i += 3) {
      let low = 255, high = 0, steep = 0;
      for (let k = i - REACH; k <= i + REACH; k++) {
        const at = line * next + k * along, v = tile[at], d = Math.abs(tile[at + along] - tile[at - along]);
        if (v < low) low = v;
        if (v > high) high = v;
        if (d > steep) steep = d;
      }
      if (high - low > STRONG) out.push(steep / 2 / (high - low));
    }
  }
  return out;
}
