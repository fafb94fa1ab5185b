import assert from "node:assert/strict";
import test from "node:test";
import { rename } from "../app/actions/rename.js";
import { readPiece } from "../app/model/codec.js";
import { createSaver } from "../app/state/saver.js";
import { wirePiece } from "./helpers.mjs";

/** A service of one piece, a clock that the test turns, and a record of what was told. */
function bench() {
  const b = { server: { ...wirePiece(), version: 1 }, down: false, loseAnswer: false, told: [], draft: undefined, timer: null, puts: 0 };
  const ports = {
    async put(edit, etag) {
      b.puts++;
      if (b.down) throw Object.assign(new Error("down"), { status: 0, passing: true });
      if (etag !== `"v${b.server.version}"`) throw Object.assign(new Error("stale"), { status: 412, passing: false, current: b.server });
      b.server = { ...b.server, ...edit, version: b.server.version + 1 };
      if (b.loseAnswer) {
        b.loseAnswer = false;
        throw Object.assign(new Error("lost"), { status: 0, passing: true });
      }
      return { piece: b.server, etag: `"v${b.server.version}"` };
    },
    keep: (d) => (b.draft = d),
    tell: (s) => b.told.push(s.kind),
    stored: () => {},
    explain: (f) => f,
    later: (run, ms) => {
      b.timer = { run, ms };
      return () => (b.timer = null);
    },
  };
  b.doc = readPiece(b.server);
  b.saver = createSaver(ports, b.doc, '"v1"');
  b.tick = async () => {
    const t = b.timer;
    b.timer = null;
    t?.run();
    await new Promise((r) => setImmediate(r));
  };
  return b;
}

test("an edit is kept at once, sent after a moment, and then forgotten here", async () => {
  const b = bench();
  b.saver.edit(rename("A")(b.doc));
  assert.equal(b.draft.edit.name, "A");
  assert.equal(b.puts, 0);
  assert.equal(b.timer.ms, 600);
  await b.tick();
  assert.equal(b.server.name, "A");
  assert.equal(b.draft, null);
  assert.deepEqual(b.told, ["waiting", "saving", "saved"]);
});

test("many edits in a row are sent once; an undo to what is stored sends nothing", async () => {
  const b = bench();
  for (const n of ["A", "B", "C"]) b.saver.edit(rename(n)(b.doc));
  await b.tick();
  assert.equal(b.puts, 1);
  assert.equal(b.server.name, "C");
  const c = bench();
  c.saver.edit(rename("A")(c.doc));
  c.saver.edit(c.doc);
  assert.equal(c.draft, null);
  assert.equal(c.timer, null);
});

test("an edit during a save is sent after it, on the new version", async () => {
  const b = bench();
  b.saver.edit(rename("A")(b.doc));
  const going = b.saver.flush();
  b.saver.edit(rename("B")(b.doc));
  assert.equal(await going, true);
  assert.equal(b.server.name, "B");
  assert.equal(b.server.version, 3);
});

test("who asks to save while something is being sent waits for it", async () => {
  const b = bench();
  b.saver.edit(rename("A")(b.doc));
  const first = b.saver.flush();
  b.saver.edit(rename("B")(b.doc));
  assert.equal(await b.saver.flush(), true);
  assert.equal(b.server.name, "B");
  assert.equal(await first, true);
});

test("without a connection it is kept and tried again, later and later", async () => {
  const b = bench();
  b.down = true;
  b.saver.edit(rename("A")(b.doc));
  await b.tick();
  assert.equal(b.told.at(-1), "unsent");
  assert.equal(b.timer.ms, 2000);
  await b.tick();
  assert.equal(b.timer.ms, 4000);
  assert.equal(b.draft.edit.name, "A");
  b.down = false;
  await b.tick();
  assert.equal(b.server.name, "A");
  assert.equal(b.told.at(-1), "saved");
});

test("when only the answer was lost, the second try is no conflict", async () => {
  const b = bench();
  b.loseAnswer = true;
  b.saver.edit(rename("A")(b.doc));
  await b.tick();
  assert.equal(b.told.at(-1), "unsent");
  await b.tick();
  assert.equal(b.told.at(-1), "saved");
  assert.equal(b.server.version, 2);
});

test("someone else's change stops the saving until the person has chosen", async () => {
  for (const mine of [true, false]) {
    const b = bench();
    b.server = { ...b.server, name: "Theirs", version: 2 };
    const now = rename("Mine")(b.doc);
    b.saver.edit(now);
    await b.tick();
    assert.equal(b.told.at(-1), "conflict");
    b.saver.edit(rename("Mine too")(now));
    assert.equal(b.timer, null);
    const theirs = readPiece(b.server);
    b.saver.rebase(theirs, '"v2"', mine ? now : theirs);
    await b.tick();
    assert.equal(b.server.name, mine ? "Mine" : "Theirs");
    assert.equal(b.told.at(-1), "saved");
    assert.equal(b.draft, null);
  }
});

test("what would be turned down is kept here, named, and not sent", async () => {
  const b = bench();
  b.saver.edit(rename(" ")(b.doc));
  assert.equal(b.told.at(-1), "rejected");
  assert.equal(b.timer, null);
  assert.equal(await b.saver.flush(), false);
  assert.equal(b.puts, 0);
});
