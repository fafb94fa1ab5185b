import assert from "node:assert/strict";
import test from "node:test";
import { moveKnots } from "../app/actions/moveKnots.js";
import { at, between, part, segment, split } from "../app/geom/cubic.js";
import { nearest } from "../app/geom/nearest.js";
import { along, bounds, measure, ringParts, ringPath } from "../app/geom/ring.js";
import { fit, pan, resize, toPixel, toPlane, zoom } from "../app/geom/viewport.js";
import { distance } from "../app/geom/vec.js";
import { doc, random, randomDoc } from "./helpers.mjs";

const close = (p, q, tol = 1e-9) => assert.ok(distance(p, q) <= tol, `${p.x},${p.y} is ${distance(p, q)} from ${q.x},${q.y}`);

test("the parts of a split curve lie on the curve", () => {
  const rand = random(1);
  for (let i = 0; i < 50; i++) {
    const s = segment(randomDoc(rand, 5).rings[0], i % 5), t = rand();
    const [l, r] = split(s, t);
    for (const u of [0, 0.3, 0.7, 1]) {
      close(at(l, u), at(s, u * t));
      close(at(r, u), at(s, t + u * (1 - t)));
    }
    close(at(part(s, 0.2, 0.6), 0.5), at(s, 0.4));
  }
});

test("the nearest place is never farther than any sample of the outline", () => {
  const rand = random(2);
  for (let i = 0; i < 40; i++) {
    const d = randomDoc(rand, 6), p = { x: rand() * 300, y: rand() * 300 };
    const hit = nearest(d.rings, p);
    for (const ring of d.rings)
      ring.forEach((_, k) => {
        // A hundredth of a millimetre: a curve that turns back on itself within
        // a twelfth of its length may hide a second foot point.
        for (let j = 0; j <= 12; j++) assert.ok(hit.distance <= distance(p, at(segment(ring, k), j / 12)) + 0.01);
      });
  }
});

test("nothing is near beyond the reach", () => assert.equal(nearest(doc().rings, { x: 500, y: 500 }, 10), null));

test("area, bounds and path text of the fixture", () => {
  const d = doc();
  const hole = measure(d.rings[1]);
  assert.equal(hole.area, -400); // clockwise, 20 x 20 mm
  close(hole.centre, { x: 50, y: 50 });
  assert.ok(measure(d.rings[0]).area > 8000);
  assert.deepEqual(bounds(d.rings), { minX: 0, minY: 0, maxX: 100, maxY: 120 });
  assert.equal(ringPath(d.rings[1]), "M40 40L40 60L60 60L60 40L40 40Z");
});

test("path text follows a changed neighbour", () => {
  const ring = doc().rings[1];
  ringPath(ring);
  const moved = [ring[0], { ...ring[1], at: { x: 41, y: 61 } }, ...ring.slice(2)];
  assert.equal(ringPath(moved), "M40 40L41 61L60 60L60 40L40 40Z");
});

test("a stretch runs along the outline, also over the first knot", () => {
  const d = doc();
  const side = along(d.rings, { from: { x: 100, y: 10 }, to: { x: 100, y: 70 }, why: "" });
  assert.equal(side.length, 1);
  close(side[0].a, { x: 100, y: 10 });
  close(side[0].d, { x: 100, y: 70 });
  const over = along(d.rings, { from: { x: 0, y: 30 }, to: { x: 50, y: 0 }, why: "" });
  assert.equal(over.length, 2);
  close(over[1].a, { x: 0, y: 0 });
  assert.equal(along(d.rings, { from: { x: 60, y: 0 }, to: { x: 60, y: 0 }, why: "" }).length, 6);
  assert.equal(along(d.rings, { from: { x: 60, y: 0 }, to: { x: 59.5, y: 0 }, why: "" }).length, 6);
  assert.equal(along(d.rings, { from: { x: 54, y: 0 }, to: { x: 51, y: 0 }, why: "" }).length, 0);
  const round = along(d.rings, { from: { x: 60, y: 0 }, to: { x: 40, y: 0 }, why: "" });
  assert.equal(round.length, 6); // all the way round, back to the same stretch
});

test("screen and plane are inverse, a zoom keeps its pixel, a fit shows the box", () => {
  const rand = random(3);
  for (let i = 0; i < 50; i++) {
    const v = { scale: 0.1 + rand() * 10, left: rand() * 100, top: rand() * 100, width: 390, height: 700 };
    const q = { x: rand() * 390, y: rand() * 700 };
    const p = toPlane(v, q);
    const same = (w, px) => close(toPixel(w, p), px, 1e-6);
    same(v, q);
    same(zoom(v, q, 1 + rand()), q);
    same(pan(v, 5, -7), { x: q.x + 5, y: q.y - 7 });
    close(toPlane(resize(v, 800, 600), { x: 400, y: 300 }), toPlane(v, { x: 195, y: 350 }), 1e-6);
  }
  const f = fit({ scale: 1, left: 0, top: 0, width: 390, height: 700 }, { minX: 0, minY: 0, maxX: 100, maxY: 50 }, 20, 100);
  assert.ok(Math.abs(toPixel(f, { x: 0, y: 0 }).x - 20) < 1e-9);
  assert.ok(Math.abs(toPixel(f, { x: 50, y: 25 }).y - 300) < 1e-9);
});

test("up in the plane is up on the screen", () => {
  const v = { scale: 2, left: 0, top: 100, width: 100, height: 100 };
  assert.ok(toPixel(v, { x: 0, y: 90 }).y < toPixel(v, { x: 0, y: 10 }).y);
  assert.equal(between({ at: { x: 0, y: 0 }, out: null }, { at: { x: 1, y: 1 }, in: null }).curved, false);
});

test("a ring drawn in two parts holds each stretch once, and the part that did not change keeps its text", () => {
  const before = doc(), ring = before.rings[0], strokes = (d) => [...d.matchAll(/[LC][^MLCZ]*/g)].map((m) => m[0]);
  let still = "";
  for (const x of [1, 2, 3]) {
    const after = moveKnots(new Set([ring[1].id]), { x, y: 0 })(before).rings[0], parts = ringParts(after, ring);
    assert.deepEqual([...strokes(parts.still), ...strokes(parts.moving)].sort(), strokes(ringPath(after)).sort());
    assert.equal(strokes(parts.moving).length, 2);
    if (still) assert.equal(parts.still, still);
    still = parts.still;
  }
  assert.equal(ringParts(ring, ring).moving, "");
});
