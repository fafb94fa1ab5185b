import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import test from "node:test";
import { formatLength, parseLength } from "../app/model/length.js";
import { random } from "./helpers.mjs";

const cases = JSON.parse(readFileSync(new URL("./fixtures/lengths.json", import.meta.url), "utf8"));

for (const { text, unit, mm } of cases)
  test(`${JSON.stringify(text)} in ${unit}`, () => {
    const got = parseLength(text, unit);
    if (mm === null) assert.equal(got, null);
    else assert.ok(Math.abs(got - mm) < 1e-9, `${got}`);
  });

test("a minus counts only where it may", () => {
  assert.equal(parseLength("-3", "cm", true), -30);
  assert.equal(parseLength("− 1/2", "cm", true), -12.7);
});

test("what is written is read again to a tenth of a millimetre, or half a sixteenth of an inch", () => {
  const rand = random(3);
  for (let i = 0; i < 300; i++) {
    const mm = rand() * 2000;
    assert.ok(Math.abs(parseLength(formatLength(mm, "cm"), "in") - mm) <= 0.05001);
    assert.ok(Math.abs(parseLength(formatLength(mm, "in"), "cm") - mm) <= 25.4 / 32 + 1e-9);
  }
  assert.equal(formatLength(38.1, "in"), '1 1/2"');
  assert.equal(formatLength(-12.7, "in"), '-1/2"');
  assert.equal(formatLength(25.4, "in"), '1"');
  assert.equal(formatLength(16, "cm"), "1.6 cm");
});
