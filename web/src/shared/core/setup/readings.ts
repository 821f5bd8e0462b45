/** Readings: first and second entries, rivals from another tablet, corrections. */

import type { BenchEvent, Data } from "../events.ts";
import { compare } from "../expected.ts";
import type { Compared } from "../expected.ts";
import { lengthMm } from "../units.ts";
import { stepOf } from "./state.ts";
import type { Reading, ReadingEntry, Setup } from "./state.ts";

/** Beyond its limits; the limits themselves still pass, a difference under a nanometre is none. */
export function outOfLimits(limits: { low: number; high: number } | null, readingMm: number): boolean {
  return limits !== null && (readingMm < limits.low - 1e-6 || readingMm > limits.high + 1e-6);
}

/** A first entry beyond the limits is kept and asks for a second, blind one. */
export const asksSecondEntry = (setup: Setup, event: BenchEvent): boolean =>
  entryOf(setup, event, event.data, event.step ?? "").out;

export function addReading(setup: Setup, event: BenchEvent, final: boolean): void {
  const reading = readingAt(setup, event.step ?? "", event.data);
  const entry = entryOf(setup, event, event.data, event.step ?? "");
  reading.entries.push(entry);
  if (final) reading.final = entry;
}

/** A corrected value counts from now on; the earlier entries stay readable. */
export function correctReading(setup: Setup, stepId: string, event: BenchEvent): void {
  const reading = setup.readings.get(stepId)!;
  const unit = event.data["unit"] || reading.entries.at(-1)!.unit;
  const entry = entryOf(setup, event, { ...event.data, unit, entry: 2 }, stepId);
  entry.corrects = event.data["refers"];
  reading.entries.push(entry);
  reading.final = entry;
}

/** Of two answers, let this one count. */
export function keepReading(setup: Setup, stepId: string, eventId: string): void {
  const reading = setup.readings.get(stepId);
  if (reading) reading.final = reading.entries.find((one) => one.event === eventId) ?? reading.final;
}

/** The entry beside what the design's analysis expects at this step; null where it expects nothing. */
export function comparedTo(setup: Setup, entry: ReadingEntry, stepId: string): Compared | null {
  const { expected } = stepOf(setup, stepId);
  const { indicator } = setup.opened!["frozen"] as { indicator: { graduation?: number } | null };
  return expected && indicator?.graduation ? compare(expected, entry.value, entry.unit, indicator.graduation) : null;
}

function readingAt(setup: Setup, stepId: string, data: Data): Reading {
  const found = setup.readings.get(stepId);
  if (found) return found;
  const made: Reading = { step: stepId, point: data["point"] ?? "", state: data["state"] ?? "", entries: [], final: null };
  setup.readings.set(stepId, made);
  return made;
}

function entryOf(setup: Setup, event: BenchEvent, data: Data, stepId: string): ReadingEntry {
  const valueMm = lengthMm(Number(data["value"]), data["unit"]);
  const out = outOfLimits(stepOf(setup, stepId).limits, valueMm);
  const entry = Number(data["entry"] ?? 2);
  return { event: event.id, entry, value: data["value"], unit: data["unit"], value_mm: valueMm, out, corrects: null };
}
