/** The number being entered: which keys are legal, what it comes to, and what there is to ask about it. */

import type { Pad } from "../bench.ts";
import { faceOf, dialValue } from "./dial.ts";
import { EMPTY, decimalsOf, parseBurst, press, valueText } from "./entry.ts";
import type { Field } from "./entry.ts";
import { readingField, surfaceValue } from "./indicator.ts";
import { doubts } from "./plausibility.ts";
import type { Doubt } from "./plausibility.ts";
import type { Indicator, PlateInfo, Step } from "../types.ts";
import { lengthMm } from "../units.ts";
import type { Work } from "../work.ts";

export const PIN_FIELD: Field = { decimals: 0, sign: false, maxDigits: 8 };
const COUNT_FIELD: Field = { decimals: 0, sign: false, maxDigits: 4 };

export const newPad = (use: Pad["use"], step: string): Pad => ({
  use, step, stage: "typing", mode: "keys", entry: EMPTY, turns: null, marks: null, value: null, raw: "",
  source: "typed", doubts: [], reason: "", first: null,
});

export function fieldOf(pad: Pad, work: Work): Field {
  switch (pad.use) {
    case "pin":
      return PIN_FIELD;
    case "good": case "scrap":
      return COUNT_FIELD;
    case "peak":
      return { decimals: decimalsOf(work.tool!.graduation), sign: false, maxDigits: 5 };
    default:
      return readingField(work.indicator!);
  }
}

/** The use a step's own pad has, or null for steps without a number. */
export function padUseOf(step: Step): Pad["use"] | null {
  return step.kind === "read" ? "reading" : step.kind === "unload" ? "good" : step.kind === "sign" ? "pin" : null;
}

/** The pad after a key; null when the key is not legal. */
export function padKey(pad: Pad, key: string, field: Field): Pad | null {
  if (pad.use === "pin") return pinKey(pad, key);
  const entry = press(pad.entry, key, field);
  return entry === null ? null : { ...pad, entry, source: "typed", value: null };
}

/** A PIN keeps its leading zeros. */
function pinKey(pad: Pad, key: string): Pad | null {
  const { digits } = pad.entry;
  if (key === "back") return digits === "" ? null : { ...pad, entry: { ...pad.entry, digits: digits.slice(0, -1) } };
  if (!/^[0-9]$/.test(key) || digits.length >= PIN_FIELD.maxDigits) return null;
  return { ...pad, entry: { ...pad.entry, digits: digits + key } };
}

/** The shown value as decimal text, from keys or dial; null while it is incomplete. */
export function padText(pad: Pad, field: Field, indicator: Indicator | null): string | null {
  if (pad.source === "wedge") return pad.value;
  if (pad.mode === "dial") {
    return indicator === null || pad.turns === null || pad.marks === null ? null : dialValue(indicator, pad.turns, pad.marks);
  }
  return valueText(pad.entry, field);
}

/** After Enter on a reading: straight to reading back, or first a question. */
export function entered(pad: Pad, work: Work, plate: PlateInfo | null): Pad | null {
  const indicator = work.indicator!;
  const text = padText(pad, fieldOf(pad, work), indicator);
  if (text === null) return null;
  const source = pad.source === "wedge" ? "wedge" : pad.mode === "dial" ? "dial" : "typed";
  const asked = doubtsOf(text, work, indicator, plate);
  const raw = source === "wedge" ? pad.raw : text;
  return { ...pad, value: text, raw, source, doubts: asked, stage: asked.length > 0 ? "doubt" : afterDoubt(pad, work) };
}

/** A second entry and a correction carry a reason; a first entry is only read back. */
export const afterDoubt = (pad: Pad, work: Work): Pad["stage"] =>
  pad.use === "correction" || work.status?.state === "second entry" ? "reason" : "read back";

function doubtsOf(text: string, work: Work, indicator: Indicator, plate: PlateInfo | null): Doubt[] {
  const { step } = work;
  const usual = step?.subject ? plate?.usual[`${step.subject.id}/${step.state}`] : undefined;
  return doubts(Number(surfaceValue(indicator, text)), indicator, usual?.median_mm ?? null)
    .filter((doubt) => doubt.kind !== "off graduation" || !isCorrected(indicator))
    .concat(offGraduation(text, indicator));
}

const isCorrected = (indicator: Indicator): boolean => surfaceValue(indicator, "1") !== "1";

/** A corrected value need not lie on a mark; what was shown must. */
function offGraduation(text: string, indicator: Indicator): Doubt[] {
  return isCorrected(indicator) ? doubts(Number(text), indicator, null) : [];
}

/** A burst from a wedge or gauge as a pad, or null when it is no number or in another unit. */
export function padBurst(pad: Pad, raw: string, work: Work): Pad | null {
  const burst = parseBurst(raw);
  const { indicator } = work;
  if (!burst || !indicator || (burst.unit !== null && burst.unit !== indicator.unit)) return null;
  if (!(Math.abs(lengthMm(Number(burst.value), "mm")) <= indicator.travel)) return null;
  return { ...pad, mode: "keys", source: "wedge", raw, value: burst.value };
}

export const dialReady = (pad: Pad, indicator: Indicator): boolean =>
  pad.turns !== null && pad.marks !== null && Math.abs(pad.marks) <= faceOf(indicator).marks;
