// The similarity between plane millimetres (y up) and canvas pixels (y down).

/** @import {Bounds, Pixel, Point, Viewport} from "../types" */

/** Fewest and most pixels per millimetre that one can zoom to. */
export const LEAST = 0.02;
export const MOST = 60;

/** @param {Viewport} v @param {Point} p @returns {Pixel} */
export const toPixel = (v, p) => ({ x: (p.x - v.left) * v.scale, y: (v.top - p.y) * v.scale });

/** @param {Viewport} v @param {Pixel} q @returns {Point} */
export const toPlane = (v, q) => ({ x: v.left + q.x / v.scale, y: v.top - q.y / v.scale });

/** Moved by so many pixels. @param {Viewport} v @param {number} dx @param {number} dy @returns {Viewport} */
export const pan = (v, dx, dy) => ({ ...v, left: v.left - dx / v.scale, top: v.top + dy / v.scale });

/**
 * Zoomed by a factor about a pixel, which stays where it is.
 * @param {Viewport} v @param {Pixel} q @param {number} factor @returns {Viewport}
 */
export function zoom(v, q, factor) {
  const scale = Math.min(MOST, Math.max(LEAST, v.scale * factor));
  const p = toPlane(v, q);
  return { ...v, scale, left: p.x - q.x / scale, top: p.y + q.y / scale };
}

/**
 * The box in the middle, with `margin` pixels around it and `below` more
 * pixels kept free at the bottom.
 * @param {Viewport} v @param {Bounds} b @param {number} margin @param {number} [below]
 * @returns {Viewport}
 */
export function fit(v, b, margin, below = 0) {
  const w = Math.max(b.maxX - b.minX, 1), h = Math.max(b.maxY - b.minY, 1);
  const room = { w: Math.max(v.width - 2 * margin, 40), h: Math.max(v.height - 2 * margin - below, 40) };
  const scale = Math.min(MOST, Math.max(LEAST, Math.min(room.w / w, room.h / h)));
  return {
    ...v, scale,
    left: (b.minX + b.maxX) / 2 - v.width / 2 / scale,
    top: (b.minY + b.maxY) / 2 + (v.height - below) / 2 / scale,
  };
}

/** The same middle in a canvas of another size. @param {Viewport} v @param {number} width @param {number} height @returns {Viewport} */
export function resize(v, width, height) {
  return { ...v, width, height, left: v.left + (v.width - width) / 2 / v.scale, top: v.top - (v.height - height) / 2 / v.scale };
}

/** SVG matrix that draws millimetres on the canvas. @param {Viewport} v */
export const matrix = (v) => `matrix(${v.scale} 0 0 ${-v.scale} ${-v.left * v.scale} ${v.top * v.scale})`;
