// Pointer events in, gestures out: a reducer without a DOM, so that it can be
// tested in Node. Taps and drags by the first pointer, pan and pinch by two,
// pan by the middle button or while the hand is held.

/** @import {Gesture, Pixel} from "../types" */

/** How far a pointer may wander before a press becomes a drag, in pixels: fingers are less steady. */
export const SLOP = { mouse: 3, pen: 4, touch: 9 };
/** Longest time between the taps of a double tap, in milliseconds, and their greatest distance in pixels. */
const DOUBLE_MS = 350, DOUBLE_PX = 24;

/**
 * @typedef {{ id: number, from: Pixel, at: Pixel }} Finger
 * @typedef {object} State
 * @property {"idle" | "pressed" | "drag" | "pan" | "pinch"} mode
 * @property {readonly Finger[]} fingers
 * @property {string} pointer kind of the pointer that pressed
 * @property {boolean} extend
 * @property {{ at: Pixel, time: number } | null} last the tap before
 *
 * @typedef {object} Input
 * @property {"down" | "move" | "up" | "cancel"} type
 * @property {number} id
 * @property {Pixel} at
 * @property {string} pointer "mouse", "touch" or "pen"
 * @property {number} time milliseconds
 * @property {boolean} pan the middle button, or the hand is held
 * @property {boolean} extend shift is held
 * @property {boolean} [free] Alt is held: nothing draws what is dragged to itself
 */

/** @type {State} */
export const idle = { mode: "idle", fingers: [], pointer: "mouse", extend: false, last: null };

/** @param {Pixel} p @param {Pixel} q */
const apart = (p, q) => Math.hypot(p.x - q.x, p.y - q.y);

/**
 * @param {State} state @param {Input} input
 * @returns {[State, Gesture[]]}
 */
export function reduce(state, input) {
  if (input.type === "down") return down(state, input);
  if (input.type === "move") return move(state, input);
  return lift(state, input);
}

/** @param {State} s @param {Input} e @returns {[State, Gesture[]]} */
function down(s, e) {
  const fingers = [...s.fingers.filter((f) => f.id !== e.id), { id: e.id, from: e.at, at: e.at }];
  if (fingers.length >= 2) return [{ ...s, mode: "pinch", fingers, last: null }, s.mode === "drag" || s.mode === "pressed" ? [{ type: "dragcancel" }] : []];
  const mode = e.pan ? "pan" : "pressed";
  const next = /** @type {State} */ ({ ...s, mode, fingers, pointer: e.pointer, extend: e.extend });
  return [next, e.pan ? [] : [{ type: "press", at: e.at, pointer: e.pointer, extend: e.extend }]];
}

/** @param {State} s @param {Input} e @returns {[State, Gesture[]]} */
function move(s, e) {
  const held = s.fingers.find((f) => f.id === e.id);
  if (!held) return [s, s.mode === "idle" ? [{ type: "hover", at: e.at, pointer: e.pointer }] : []];
  const fingers = s.fingers.map((f) => (f === held ? { ...f, at: e.at } : f));
  const next = { ...s, fingers };
  const dx = e.at.x - held.at.x, dy = e.at.y - held.at.y;
  if (s.mode === "pan") return [next, [{ type: "pan", dx, dy }]];
  if (s.mode === "pinch") return [next, pinched(s.fingers, fingers)];
  const g = { at: e.at, from: held.from, pointer: s.pointer, extend: s.extend };
  if (s.mode === "drag") return [next, [{ type: "drag", ...g, ...(e.free && { free: true }) }]];
  const slop = s.pointer === "touch" ? SLOP.touch : s.pointer === "pen" ? SLOP.pen : SLOP.mouse;
  if (s.mode === "pressed" && apart(held.from, e.at) > slop)
    return [{ ...next, mode: "drag", last: null }, [{ type: "dragstart", ...g }, { type: "drag", ...g }]];
  return [next, []];
}

/** What the first two fingers did. @param {readonly Finger[]} was @param {readonly Finger[]} now @returns {Gesture[]} */
function pinched(was, now) {
  const [a, b] = was, [p, q] = now;
  const before = apart(a.at, b.at), after = apart(p.at, q.at);
  const at = { x: (p.at.x + q.at.x) / 2, y: (p.at.y + q.at.y) / 2 };
  return [{
    type: "pinch", at,
    factor: before > 1 && after > 1 ? after / before : 1,
    dx: at.x - (a.at.x + b.at.x) / 2, dy: at.y - (a.at.y + b.at.y) / 2,
  }];
}

/** @param {State} s @param {Input} e @returns {[State, Gesture[]]} */
function lift(s, e) {
  const held = s.fingers.find((f) => f.id === e.id);
  if (!held) return [s, []];
  const fingers = s.fingers.filter((f) => f !== held);
  // A finger that stays after a pinch goes on panning: it must not draw or drag.
  if (s.mode === "pinch") return [{ ...s, fingers, mode: fingers.length >= 2 ? "pinch" : fingers.length === 1 ? "pan" : "idle" }, []];
  const next = /** @type {State} */ ({ ...s, fingers, mode: "idle" });
  if (s.mode === "pan") return [next, []];
  if (e.type === "cancel") return [{ ...next, last: null }, [{ type: "dragcancel" }]];
  if (s.mode === "drag") return [next, [{ type: "dragend", at: e.at, from: held.from, pointer: s.pointer, extend: s.extend }]];
  const g = { at: held.from, pointer: s.pointer, extend: s.extend };
  if (s.last && e.time - s.last.time < DOUBLE_MS && apart(s.last.at, held.from) < DOUBLE_PX)
    return [{ ...next, last: null }, [{ type: "double", ...g }]];
  return [{ ...next, last: { at: held.from, time: e.time } }, [{ type: "tap", ...g }]];
}
