import assert from "node:assert/strict";
import { test } from "node:test";
import { between, flawOf, settled } from "../app/model/outline.js";

/** @param {number[][]} list */
const ring = (...list) => list.map(([x, y]) => ({ x, y }));

test("an outline needs three corners, an area, and no crossing", () => {
  const cases = /** @type {[string, number[][], string | null][]} */ ([
    ["nothing", [], "few"],
    ["a line", [[0, 0], [10, 0]], "few"],
    ["a triangle", [[0, 0], [10, 0], [0, 10]], null],
    ["the other way round", [[0, 0], [0, 10], [10, 0]], null],
    ["no area", [[0, 0], [10, 0], [20, 0]], "crossed"],
    ["a corner twice", [[0, 0], [10, 0], [10, 0], [0, 10]], "crossed"],
    ["a bow tie", [[0, 0], [10, 10], [10, 0], [0, 10]], "crossed"],
    ["a corner on an edge", [[0, 0], [10, 0], [10, 10], [5, 0], [0, 10]], "crossed"],
    ["a bay", [[0, 0], [10, 0], [10, 10], [5, 1], [0, 10]], null],
    ["a corner in a straight edge", [[0, 0], [5, 0], [10, 0], [10, 10]], null],
  ]);
  for (const [name, list, want] of cases) assert.equal(flawOf(ring(...list)), want, name);
});

test("a corner lies on whole millimetres, on the cloth, and on its sides where they are near", () => {
  assert.deepEqual(settled({ x: 12.4, y: 33.6 }, 700, 5), { x: 12, y: 34 });
  assert.deepEqual(settled({ x: 4.9, y: 696 }, 700, 5), { x: 0, y: 700 });
  assert.deepEqual(settled({ x: -40, y: 900 }, 700, 5), { x: 0, y: 700 });
  assert.deepEqual(settled({ x: 100, y: 705.2 }, 705.5, 5), { x: 100, y: 705.5 }, "a side that lies on no whole millimetre");
});

test("corners added by key alone make an outline that will do", () => {
  /** @type {{ x: number, y: number }[]} */
  let list = [];
  for (let i = 0; i < 5; i++) list = [...list, between(list, list.length - 1, 700)];
  assert.equal(flawOf(list.slice(0, 3)), null);
  assert.equal(flawOf(list.slice(0, 4)), null);
});
