import assert from "node:assert/strict";
import test from "node:test";
import { idle, reduce } from "../app/gestures/pointer.js";

/** Runs inputs given as [type, id, x, y, time?, more?] and returns all gestures. */
function run(inputs, pointer = "mouse") {
  let state = idle;
  const out = [];
  for (const [type, id, x, y, time = 0, more = {}] of inputs) {
    const [next, gestures] = reduce(state, { type, id, at: { x, y }, pointer, time, pan: false, extend: false, ...more });
    state = next;
    out.push(...gestures);
  }
  return { state, out, types: out.map((g) => g.type) };
}

test("a press that hardly moves is a tap", () => {
  assert.deepEqual(run([["down", 1, 10, 10], ["move", 1, 11, 11], ["up", 1, 11, 11]]).types, ["press", "tap"]);
});

test("fingers may wander farther than a mouse before it is a drag", () => {
  const wander = [["down", 1, 10, 10], ["move", 1, 16, 10], ["up", 1, 16, 10]];
  assert.deepEqual(run(wander).types, ["press", "dragstart", "drag", "dragend"]);
  assert.deepEqual(run(wander, "touch").types, ["press", "tap"]);
});

test("two taps in time and place are a double tap, a third begins anew", () => {
  const tap = (t, x = 10) => [["down", 1, x, 10, t], ["up", 1, x, 10, t]];
  assert.deepEqual(run([...tap(0), ...tap(200), ...tap(400)]).types.filter((t) => t !== "press"), ["tap", "double", "tap"]);
  assert.deepEqual(run([...tap(0), ...tap(900)]).types.filter((t) => t !== "press"), ["tap", "tap"]);
  assert.deepEqual(run([...tap(0), ...tap(100, 80)]).types.filter((t) => t !== "press"), ["tap", "tap"]);
});

test("a second finger takes a drag back and pinches about the middle", () => {
  const { out, types } = run([
    ["down", 1, 100, 100], ["move", 1, 130, 100], ["down", 2, 230, 100], ["move", 2, 330, 100],
  ], "touch");
  assert.deepEqual(types, ["press", "dragstart", "drag", "dragcancel", "pinch"]);
  const pinch = out.at(-1);
  assert.equal(pinch.factor, 2);
  assert.deepEqual(pinch.at, { x: 230, y: 100 });
  assert.equal(pinch.dx, 50);
});

test("the finger left after a pinch pans and never draws", () => {
  const { types, state } = run([
    ["down", 1, 0, 0], ["down", 2, 100, 0], ["move", 2, 120, 0], ["up", 1, 0, 0], ["move", 2, 150, 30], ["up", 2, 150, 30],
  ], "touch");
  assert.deepEqual(types, ["press", "dragcancel", "pinch", "pan"]);
  assert.equal(state.mode, "idle");
});

test("the middle button or the held hand pans", () => {
  const { out } = run([["down", 1, 0, 0, 0, { pan: true }], ["move", 1, 5, 7], ["up", 1, 5, 7]]);
  assert.deepEqual(out, [{ type: "pan", dx: 5, dy: 7 }]);
});

test("a cancelled pointer takes the drag back", () => {
  assert.equal(run([["down", 1, 0, 0], ["move", 1, 50, 0], ["cancel", 1, 50, 0]]).types.at(-1), "dragcancel");
});

test("moves of pointers that were never pressed, and lifts of unknown ones, do no harm", () => {
  assert.deepEqual(run([["move", 9, 1, 1], ["up", 9, 1, 1]]).types, ["hover"]);
});

test("any order of events ends idle once all fingers are lifted", () => {
  let seed = 5;
  const rand = () => (seed = (seed * 16807) % 2147483647) / 2147483647;
  for (let i = 0; i < 200; i++) {
    const inputs = Array.from({ length: 30 }, () => [["down", "move", "up", "cancel"][Math.floor(rand() * 4)], Math.floor(rand() * 3), rand() * 400, rand() * 400]);
    const { state } = run([...inputs, ["up", 0, 0, 0], ["up", 1, 0, 0], ["up", 2, 0, 0]], "touch");
    assert.equal(state.mode, "idle");
    assert.equal(state.fingers.length, 0);
  }
});
