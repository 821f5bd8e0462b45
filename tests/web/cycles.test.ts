import assert from "node:assert/strict";
import { readFileSync, readdirSync } from "node:fs";
import { dirname, join, relative } from "node:path";
import { test } from "node:test";
import { fileURLToPath } from "node:url";

const SRC = fileURLToPath(new URL("../../web/src/", import.meta.url));
const FOLDERS = ["shared/core", "shared/texts", "bench/store", "bench/net", "bench/actions", "bench/views", "bench/ui"];

const files = FOLDERS.flatMap((folder) =>
  readdirSync(join(SRC, folder), { recursive: true, encoding: "utf8" }).filter((name) => name.endsWith(".ts")).map((name) => join(folder, name)));

/** What a file imports from the project, but for types. */
function imports(file: string): string[] {
  const text = readFileSync(join(SRC, file), "utf8");
  const found = [...text.matchAll(/^(?:import|export)\s+(type\s)?[^;]*?from "(\.[^"]+)"/gms)];
  return found.filter((match) => !match[1]).map((match) => relative(SRC, join(SRC, dirname(file), match[2]!)));
}

test("no file of the bench comes back to itself through its imports", () => {
  const cycles: string[] = [];
  const done = new Set<string>();
  const visit = (file: string, path: string[]): void => {
    if (path.includes(file)) cycles.push([...path.slice(path.indexOf(file)), file].join(" > "));
    else if (!done.has(file)) {
      imports(file).forEach((other) => visit(other, [...path, file]));
      done.add(file);
    }
  };
  files.forEach((file) => visit(file, []));
  assert.deepEqual(cycles, []);
});
