import assert from "node:assert/strict";
import { test } from "node:test";
import { agreed } from "../app/model/walk.js";

const run = (piece, edge) => ({ piece, edge });
/** Lengths along the outlines. */
const long = (runs) => runs.reduce((l, r) => l + { "front side": 430, "front flap": 60, "back side": 500 }[`${r.piece} ${r.edge}`], 0);
const pair = { id: "s", name: "Side", a: [run("front", "side"), run("front", "flap")], b: [run("back", "side")], ease_mm: 6 };

test("an edge agrees along the outline where no allowance lies between", () => {
  assert.deepEqual(agreed(pair, run("front", "side"), undefined, long), { mm: 500 + 6 - 60, other: run("back", "side") });
  assert.deepEqual(agreed(pair, run("back", "side"), undefined, long), { mm: 430 + 60 - 6, other: run("front", "side") });
});

test("an edge agrees where it is sewn: stitch lines may be shorter than outlines", () => {
  // The first side loses 30 mm of allowance at its ends, the second 24.
  const row = { id: "s", name: "Side", a_mm: 460, a_traced_mm: 490, b_mm: 476, b_traced_mm: 500, ease_mm: 6, off_mm: -22, limit_mm: 1.6, known: true, ok: false };
  const mm = agreed(pair, run("front", "side"), row, long).mm;
  assert.equal(mm, 452);
  // With it the check itself would be content: a_mm - b_mm is the ease.
  assert.equal(mm + 60 - 30 - 476, 6);
  assert.equal(agreed(pair, run("back", "side"), row, long).mm, 478);
});

test("an edge of no seam, or one that could not be long enough, agrees with nothing", () => {
  assert.equal(agreed(pair, run("cuff", "side"), undefined, long), null);
  assert.equal(agreed({ ...pair, ease_mm: -500 }, run("front", "side"), undefined, long), null);
});
