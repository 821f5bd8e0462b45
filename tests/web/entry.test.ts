import assert from "node:assert/strict";
import { test } from "node:test";

import { dialValue, directionOf, faceOf, markAt } from "../../web/src/shared/core/numbers/dial.ts";
import { EMPTY, decimalsOf, parseBurst, press, shown, valueText } from "../../web/src/shared/core/numbers/entry.ts";
import type { Entry, Field } from "../../web/src/shared/core/numbers/entry.ts";
import { readingField, surfaceValue } from "../../web/src/shared/core/numbers/indicator.ts";
import { newPad, padKey } from "../../web/src/shared/core/numbers/pad.ts";
import type { Indicator } from "../../web/src/shared/core/types.ts";

const HUNDREDTHS: Field = { decimals: 2, sign: true, maxDigits: 4 };

const DIAL: Indicator = {
  serial: "I-01", title: "", kind: "dial", unit: "mm", graduation: 0.01, per_turn: 1, travel: 10,
  plus: "up", stylus_deg: 0, due: "2027-01-01", state: "in use",
};

/** The entry after these keys; a key that is refused is an error here. */
function typed(keys: string, field: Field): Entry {
  return [...keys].reduce((entry, key) => {
    const name = { "-": "sign", ".": "point", "<": "back" }[key] ?? key;
    const next = press(entry, name, field);
    assert.ok(next, `key ${key} of ${keys}`);
    return next;
  }, EMPTY);
}

test("decimals are fixed by the graduation", () => {
  assert.deepEqual([0.01, 0.0005, 0.002, 0.5, 0.25, 1, 5].map(decimalsOf), [2, 4, 3, 1, 2, 0, 0]);
});

test("digits move in from the right", () => {
  const values = ["3", "12", "125", "003", "-12", "-0"].map((keys) => valueText(typed(keys, HUNDREDTHS), HUNDREDTHS));
  assert.deepEqual(values, ["0.03", "0.12", "1.25", "0.03", "-0.12", "0.00"]);
});

test("a typed decimal point fixes the places, and missing ones are zeros", () => {
  const values = ["1.2", "0.03", ".5", "12."].map((keys) => valueText(typed(keys, HUNDREDTHS), HUNDREDTHS));
  assert.deepEqual(values, ["1.20", "0.03", "0.50", "12.00"]);
});

test("keys that are not legal for the field are refused", () => {
  const counts: Field = { decimals: 0, sign: false, maxDigits: 2 };
  assert.equal(press(EMPTY, "sign", counts), null);
  assert.equal(press(EMPTY, "point", counts), null);
  assert.equal(press(typed("12", counts), "3", counts), null);
  assert.equal(press(typed("1.25", HUNDREDTHS), "5", HUNDREDTHS), null);
  assert.equal(press(EMPTY, "x", HUNDREDTHS), null);
  assert.equal(press(EMPTY, "back", HUNDREDTHS), null);
});

test("the last key can always be taken back", () => {
  assert.equal(valueText(typed("12<3", HUNDREDTHS), HUNDREDTHS), "0.13");
  assert.equal(valueText(typed("1.<2", HUNDREDTHS), HUNDREDTHS), "0.12");
  assert.deepEqual(typed("-<", HUNDREDTHS), EMPTY);
});

test("nothing on the display looks like a value before the first digit", () => {
  assert.equal(shown(EMPTY, HUNDREDTHS), "+\u2013.\u2013\u2013");
  assert.equal(shown(typed("-4", HUNDREDTHS), HUNDREDTHS), "\u22120.04");
});

test("a wedge's number is read with comma or point, sign, blanks and unit", () => {
  assert.deepEqual(parseBurst(" -0,012 mm"), { raw: " -0,012 mm", value: "-0.012", unit: "mm" });
  assert.deepEqual(parseBurst("+.0005in"), { raw: "+.0005in", value: "0.0005", unit: "in" });
  assert.equal(parseBurst("12.50")?.value, "12.50");
  assert.deepEqual(["1.2.3", "abc", "", ".", "1e5", "4 kg"].map(parseBurst), [null, null, null, null, null, null]);
});

test("the keypad of an indicator has its travel's digits and its graduation's decimals", () => {
  assert.deepEqual(readingField(DIAL), { decimals: 2, sign: true, maxDigits: 4 });
});

test("a lever's stylus angle is taken out of the value and plus always means up", () => {
  assert.equal(surfaceValue(DIAL, "0.12"), "0.12");
  assert.equal(surfaceValue({ ...DIAL, plus: "down" }, "0.12"), "-0.12");
  const lever: Indicator = { ...DIAL, kind: "lever", graduation: 0.002 };
  const at = (deg: number): string => surfaceValue({ ...lever, stylus_deg: deg }, "0.200");
  assert.deepEqual([10, 20, 30].map(at), ["0.1970", "0.1879", "0.1732"]);
  assert.equal(surfaceValue({ ...lever, stylus_deg: 20, plus: "down" }, "0.000"), "0.0000");
});

test("a dial gives whole turns plus marks, with the graduation's decimals", () => {
  assert.equal(dialValue(DIAL, 1, 47), "1.47");
  assert.equal(dialValue(DIAL, 0, -3), "-0.03");
  assert.equal(dialValue({ ...DIAL, unit: "in", graduation: 0.001, per_turn: 0.1 }, 1, 47), "0.147");
});

test("a touch on the dial goes to the mark that stands there, whichever way the face counts", () => {
  for (const plus of ["up", "down"] as const) {
    const face = faceOf({ ...DIAL, plus });
    for (const mark of [0, 1, 17, 50, -1, -49]) {
      const [x, y] = directionOf(mark, face);
      assert.equal(markAt(x * 80, y * 80, face), mark);
    }
  }
});

test("a PIN keeps its leading zeros", () => {
  const pad = ["0", "0", "4", "1"].reduce((one, key) => padKey(one, key, HUNDREDTHS)!, newPad("pin", "sign"));
  assert.equal(pad.entry.digits, "0041");
});
