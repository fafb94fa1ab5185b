import assert from "node:assert/strict";
import test from "node:test";
import { RULERS, UNMEASURED, readKept, readPrint, readRuler, samePrint, writePrint } from "../app/model/print.js";

test("a typed ruler is a length, nothing, or what can't be", () => {
  for (const [text, want] of [["149.5", 149.5], [" 149,5 ", 149.5], ["150.", 150], ["135", 135], ["165", 165], ["", null], ["  ", null],
    ["134.9", undefined], ["165.1", undefined], ["-150", undefined], ["15", undefined], ["0", undefined], ["1e2", undefined], ["149.5 mm", undefined], ["long", undefined]])
    assert.equal(readRuler(text, RULERS.across), want, text);
  for (const [text, want] of [["180", 180], ["220", 220], ["179.99", undefined], ["220.01", undefined]]) assert.equal(readRuler(text, RULERS.up), want, text);
});

test("reading and writing a print gives the same, and nothing measured is left out", () => {
  for (const w of [{}, { ruler_across_mm: 149.5 }, { ruler_up_mm: 201 }, { ruler_across_mm: 149.5, ruler_up_mm: 201 }]) assert.deepEqual(writePrint(readPrint(w)), w);
  for (const none of [undefined, null, {}]) assert.ok(samePrint(readPrint(none), UNMEASURED));
  assert.ok(!samePrint({ across: 149.5, up: null }, UNMEASURED));
});

test("what a browser kept comes back, and nonsense does not", () => {
  const p = { across: 149.5, up: 200.4 };
  assert.deepEqual(readKept(JSON.stringify(writePrint(p))), p);
  for (const bad of [null, "", "{", "null", "7", "[]", '{"ruler_across_mm":"149"}', '{"ruler_across_mm":15,"ruler_up_mm":null}']) assert.deepEqual(readKept(bad), UNMEASURED, String(bad));
});
