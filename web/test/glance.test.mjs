import assert from "node:assert/strict";
import { test } from "node:test";
import { glance, TILE } from "../app/model/glance.js";

/** A tile of black squares on white with edges blurred by a standard deviation in px. */
function tile(sigma, black = 30, white = 230) {
  const edge = (x) => 1 / (1 + Math.exp((-1.702 * x) / Math.max(sigma, 0.3))); // near to the normal distribution's
  const wave = (x) => { const p = x % 64; return edge(p) - edge(p - 32) + edge(p - 64); };
  return Uint8ClampedArray.from({ length: TILE * TILE }, (_, i) => black + (white - black) * wave(i % TILE) * wave(Math.floor(i / TILE)));
}

const seen = (over) => ({ pixels: 12e6, overview: new Uint8ClampedArray(10000).fill(120).fill(230, 0, 500), tiles: [tile(0.8)], ...over });

test("a good photo is taken without a word", () => {
  assert.deepEqual(glance(seen({})), []);
  assert.deepEqual(glance(seen({ tiles: [tile(0.8, 60, 200)] })), []);
});

test("what is wrong is told", () => {
  assert.deepEqual(glance(seen({ tiles: [tile(5)] })), ["blurred"]);
  assert.deepEqual(glance(seen({ pixels: 1600 * 1200 })), ["small"]);
  assert.deepEqual(glance(seen({ overview: new Uint8ClampedArray(10000).fill(60) })), ["dark"]);
  assert.deepEqual(glance(seen({ overview: new Uint8ClampedArray(10000).fill(120).fill(255, 0, 1500) })), ["bright"]);
});

test("where there are no strong edges nothing is said of blur", () => {
  assert.deepEqual(glance(seen({ tiles: [new Uint8ClampedArray(TILE * TILE).fill(128)] })), []);
  assert.deepEqual(glance(seen({ tiles: [tile(5, 100, 180)] })), []);
});
