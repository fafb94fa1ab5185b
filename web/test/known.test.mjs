import assert from "node:assert/strict";
import test from "node:test";
import { cornersOf, isWhole, readReference, writeReference } from "../app/model/known.js";

const points = (...xy) => xy.map(([x, y]) => ({ x, y }));
const square = points([0, 0], [100, 0], [100, 60], [0, 60]);

test("the corners of a sheet are its points, either way round", () => {
  assert.deepEqual(cornersOf("a4", square), square);
  assert.deepEqual(cornersOf("letter", [...square].reverse()), [...square].reverse());
});

test("points that do not go round, or hardly leave each other, are no sheet", () => {
  assert.equal(cornersOf("a4", points([0, 0], [100, 60], [100, 0], [0, 60])), null);
  assert.equal(cornersOf("a4", points([0, 0], [100, 0], [100, 20], [0, 20])), null);
  assert.equal(cornersOf("a4", square.slice(0, 3)), null);
  assert.equal(cornersOf("a4", points([0, 0], [100, 0], [40, 30], [0, 60])), null, "a dent");
});

test("the corners of a card are where the lines along its edges meet", () => {
  const card = points([10, 0], [90, 0], [100, 10], [100, 50], [90, 60], [10, 60], [0, 50], [0, 10]);
  const got = cornersOf("bank-card", card);
  assert.deepEqual(got, points([100, 0], [100, 60], [0, 60], [0, 0]));
  assert.ok(isWhole("bank-card", card) && !isWhole("bank-card", square));
  assert.equal(cornersOf("bank-card", [...card.slice(0, 2), ...card.slice(0, 2), ...card.slice(4)]), null, "the same edge twice");
});

test("what is sent comes back", () => {
  const thing = { kind: "a4", points: points([1.25, 2], [300.04, 4], [300, 200], [2, 210]) };
  assert.deepEqual(readReference(writeReference(thing)).points, points([1.3, 2], [300, 4], [300, 200], [2, 210]));
});
