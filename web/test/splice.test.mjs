import assert from "node:assert/strict";
import test from "node:test";
import { at, segment } from "../app/geom/cubic.js";
import { nearest } from "../app/geom/nearest.js";
import { measure } from "../app/geom/ring.js";
import { splice } from "../app/geom/splice.js";

let id = 1;
const knot = (x, y) => ({ id: id++, at: { x, y }, in: null, out: null, corner: true });
const ring = (...pts) => pts.map(([x, y]) => knot(x, y));
const stroke = (x, y) => [{ kind: "cloth", width: 6, points: [{ x, y }] }];

/** 200 mm square; `left` and `right` push out the middle of those sides. */
const square = (left, right) => ring([0, 0], [200, 0], [200, 80], [200 + right, 80], [200 + right, 120], [200, 120], [200, 200], [0, 200], [0, 120], [-left, 120], [-left, 80], [0, 80]);

test("the change beside the stroke is taken, what was moved elsewhere stays", () => {
  const old = square(15, 0), fresh = square(0, 30); // the left bulge was made by hand, the stroke adds the right one
  const out = splice(old, fresh, stroke(215, 100), 100);
  assert.ok(Math.abs(measure(out).area - (40000 + 15 * 40 + 30 * 40)) < 1, String(measure(out).area));
  assert.ok(nearest([out], { x: -15, y: 100 }).distance < 0.01);
  assert.ok(nearest([out], { x: 230, y: 100 }).distance < 0.01);
});

test("a stroke between the two outlines counts, however far from both", () => {
  const old = square(0, 150), fresh = square(0, 0);
  assert.ok(Math.abs(measure(splice(old, fresh, stroke(275, 100), 100)).area - 40000) < 1);
});

test("a stroke far from every change leaves the old outline as it is", () => {
  const old = square(15, 0);
  assert.equal(splice(old, square(0, 30), stroke(100, 100), 100), old);
  assert.equal(splice(old, old, stroke(-15, 100), 100), old);
});

test("two changes with a stroke each are both taken", () => {
  const out = splice(square(15, 15), square(40, 50), [...stroke(-40, 100), ...stroke(250, 100)], 100);
  assert.ok(Math.abs(measure(out).area - (40000 + 40 * 40 + 50 * 40)) < 1);
});

test("outlines that nowhere agree can't be joined", () => {
  const far = square(0, 0).map((k) => ({ ...k, at: { x: k.at.x + 1000, y: k.at.y } }));
  assert.equal(splice(square(0, 0), far, stroke(0, 0), 100), null);
});

test("on curves the joints lie on both outlines and ids are all different", () => {
  const circle = (bulge) => {
    const k = 55.23; // 4/3 (sqrt 2 - 1) of the radius 100: a circle to within 0.03 mm
    const q = (x, y, ix, iy, ox, oy) => ({ ...knot(x, y), in: { x: ix, y: iy }, out: { x: ox, y: oy }, corner: false });
    return [q(100 + bulge, 0, 100 + bulge, -k, 100 + bulge, k), q(0, 100, k, 100, -k, 100), q(-100, 0, -100, k, -100, -k), q(0, -100, -k, -100, k, -100)];
  };
  const old = circle(0), fresh = circle(20), out = splice(old, fresh, stroke(110, 0), 500);
  assert.equal(new Set(out.map((k) => k.id)).size, out.length);
  out.forEach((_, i) => {
    for (const t of [0, 0.3, 0.7]) assert.ok(nearest([old, fresh], at(segment(out, i), t)).distance < 0.6);
  });
  assert.ok(nearest([out], { x: 120, y: 0 }).distance < 0.1);
  assert.ok(nearest([out], { x: -100, y: 0 }).distance < 0.1);
});
