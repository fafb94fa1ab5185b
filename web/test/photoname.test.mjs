import assert from "node:assert/strict";
import { test } from "node:test";
import { cameraNamed } from "../app/model/photoName.js";

// File names as phones and cameras number them (DCF, JEITA CP-3461: four letters and a
// number of four digits) or date them; the rest is common practice, no source.
for (const name of ["IMG_2034", "DSC01234", "20261201_093000", "IMG_2034 2", "image 2026-12-01 at 10.11", "image-1234567"])
  test(`${name} is no name of a piece`, () => assert.equal(cameraNamed(name), true));

for (const name of ["front", "Sleeve 2", "Coat 1998, front", "Blouse 1880", "left_cuff", ""])
  test(`“${name}” was given by a person`, () => assert.equal(cameraNamed(name), false));
