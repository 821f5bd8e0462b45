import assert from "node:assert/strict";
import { readFileSync, readdirSync } from "node:fs";
import { dirname, join, relative } from "node:path";
import { test } from "node:test";
import { fileURLToPath } from "node:url";

const SRC = fileURLToPath(new URL("../../web/src/", import.meta.url));
const FOLDERS = ["shared/core", "shared/texts", "bench/store", "bench/net", "bench/actions", "bench/views", "bench/ui"];

/** Which folders a folder may import from; the entry files in bench/ see all. */
const MAY: Record<string, string[]> = {
  "shared/core": ["shared/core"],
  "shared/texts": ["shared/texts", "shared/core"],
  "bench/store": ["bench/store", "shared/core"],
  "bench/net": ["bench/net", "bench/store", "shared/core"],
  "bench/actions": ["bench/actions", "bench/store", "shared/core"],
  "bench/ui": ["bench/ui", "shared/core"],
  "bench/views": ["bench/views", "bench/ui", "shared/core", "shared/texts"],
};

const files = FOLDERS.flatMap((folder) =>
  readdirSync(join(SRC, folder), { recursive: true, encoding: "utf8" }).filter((name) => name.endsWith(".ts")).map((name) => join(folder, name)));

const folderOf = (file: string): string => FOLDERS.find((folder) => file.startsWith(`${folder}/`)) ?? "bench";

/** What a file imports from the project; `values` leaves out imports of types only. */
function imports(file: string, values: boolean): string[] {
  const text = readFileSync(join(SRC, file), "utf8");
  const found = [...text.matchAll(/^(?:import|export)\s+(type\s)?[^;]*?from "(\.[^"]+)"/gms)];
  return found.filter((match) => !(values && match[1])).map((match) => relative(SRC, join(SRC, dirname(file), match[2]!)));
}

test("every folder of the bench imports only from the folders below it", () => {
  const wrong = files.flatMap((file) => imports(file, false)
    .filter((other) => !MAY[folderOf(file)]!.includes(folderOf(other))).map((other) => `${file} imports ${other}`));
  assert.deepEqual(wrong, []);
});

test("no file of the bench comes back to itself through its imports", () => {
  const cycles: string[] = [];
  const done = new Set<string>();
  const visit = (file: string, path: string[]): void => {
    if (path.includes(file)) cycles.push([...path.slice(path.indexOf(file)), file].join(" > "));
    else if (!done.has(file)) {
      imports(file, true).forEach((other) => visit(other, [...path, file]));
      done.add(file);
    }
  };
  files.forEach((file) => visit(file, []));
  assert.deepEqual(cycles, []);
});
