import assert from "node:assert/strict";
import { test } from "node:test";

import { EVENT_KINDS } from "../../web/src/shared/core/events.ts";
import { TEXTS } from "../../web/src/shared/texts/index.ts";
import { decimal, signed } from "../../web/src/bench/ui/number.ts";

/** Every leaf of a language's texts by its path. */
function leaves(value: unknown, path = ""): [string, unknown][] {
  if (typeof value !== "object" || value === null) return [[path, value]];
  return Object.entries(value).flatMap(([key, inner]) => leaves(inner, `${path}/${key}`));
}

for (const language of ["de", "es"] as const) {
  test(`${language} says everything that English says`, () => {
    const english = new Map(leaves(TEXTS.en));
    const other = new Map(leaves(TEXTS[language]));
    assert.deepEqual([...other.keys()].sort(), [...english.keys()].sort());
    for (const [path, value] of other) {
      assert.equal(typeof value, typeof english.get(path), path);
      if (typeof value === "string") assert.notEqual(value.trim(), "", path);
    }
  });

  test(`${language} leaves no sentence in English`, () => {
    const english = new Map(leaves(TEXTS.en));
    const same = leaves(TEXTS[language]).filter(([path, value]) =>
      typeof value === "string" && value === english.get(path) && value.includes(" "));
    assert.deepEqual(same, []);
  });
}

test("every kind of record has a name in every language", () => {
  for (const texts of Object.values(TEXTS)) {
    assert.deepEqual(EVENT_KINDS.filter((kind) => !texts.eventName[kind]), []);
  }
});

test("numbers have the decimal comma where the language has it, and a true minus", () => {
  assert.equal(decimal("-0.03", "de"), "\u22120,03");
  assert.equal(decimal("12.0", "en"), "12.0");
  assert.deepEqual(["0.03", "-0.03", "0.00"].map((text) => signed(text, "es")), ["+0,03", "\u22120,03", "0,00"]);
});
