import assert from "node:assert/strict";
import { readFileSync, readdirSync } from "node:fs";
import { dirname, join, relative, resolve } from "node:path";
import test from "node:test";
import { fileURLToPath } from "node:url";

const web = resolve(dirname(fileURLToPath(import.meta.url)), "..");
const modules = readdirSync(join(web, "app"), { recursive: true }).map(String).filter((f) => f.endsWith(".js")).map((f) => f.replaceAll("\\", "/"));
const imports = (file) => [...readFileSync(join(web, "app", file), "utf8").matchAll(/^(?:import|export)\b[^;]*?from "([^"]+)"/gm)].map((m) => m[1]);

/** What a folder may import; arrows go one way. */
const ALLOWED = {
  geom: ["geom"],
  model: ["geom", "model"],
  actions: ["geom", "model", "actions"],
  gestures: [],
  "history.js": [],
  "format.js": [],
  "texts.js": ["texts"],
  texts: ["texts"],
  "api.js": [],
  state: ["geom", "model", "actions", "history.js", "api.js", "texts.js", "state", "@preact/signals"],
  tools: ["geom", "model", "actions", "gestures", "state", "tools", "texts.js"],
  "commands.js": ["geom", "model", "actions", "state", "tools", "texts.js"],
};

test("imports go one way, and only state and view use outside modules", () => {
  let seen = 0;
  for (const file of modules) {
    const allowed = ALLOWED[file.split("/")[0]];
    if (!allowed) continue;
    for (const name of imports(file)) {
      seen++;
      const target = name.startsWith(".") ? relative(join(web, "app"), resolve(web, "app", dirname(file), name)).split("/")[0] : name;
      assert.ok(allowed.includes(target), `${file} imports ${name}`);
    }
  }
  assert.ok(seen > 40, `only ${seen} imports were found: does the pattern still match?`);
});

test("tools touch no DOM", () => {
  for (const file of modules.filter((f) => /^(tools|gestures|actions|model|geom)\//.test(f) || f === "commands.js"))
    assert.ok(!/\b(document|window)\.\w|querySelector|addEventListener/.test(readFileSync(join(web, "app", file), "utf8")), file);
});
