// Writes the list of modules that index.html preloads: run it after adding or removing one.
import { readFileSync, readdirSync, writeFileSync } from "node:fs";
const index = readFileSync("index.html", "utf8");
const all = (folder) => readdirSync(folder, { recursive: true }).map(String).filter((f) => f.endsWith(".js")).sort().map((f) => `  <link rel="modulepreload" href="/${folder}/${f}">\n`).join("");
writeFileSync("index.html", index.replace(/(?:  <link rel="modulepreload"[^>]*>\n)+/, all("vendor") + all("app")));
