/** Signatures over a setup, and what comes after them. */

import type { BenchEvent } from "../events.ts";
import { answer } from "./answering.ts";
import { undone } from "./current.ts";
import { fresh, undoneAt, validSignatures } from "./state.ts";
import type { Setup, VerdictWord } from "./state.ts";

const AFTER_RUN = ["machine", "ease", "unload"];
const WITHOUT_CONTENT = ["signed", "countersigned", "paused", "taken over"];

/** A record that no valid signature covers asks for a new signature. */
export function noteLateness(setup: Setup, event: BenchEvent): void {
  if (WITHOUT_CONTENT.includes(event.kind) || afterRun(setup, event)) return;
  const signed = validSignatures(setup);
  if (signed.length > 0 && !signed.some((one) => one.covers.includes(event.id))) {
    setup.after_signature.push(event.id);
    setup.steps.set("sign", fresh());
  }
}

/** Take a signature; a refused one stays on record but signs nothing. */
export function sign(setup: Setup, event: BenchEvent, verdict: VerdictWord): void {
  const counter = event.kind === "countersigned";
  setup.signatures.push({
    event: event.id, person: event.person, meaning: event.data["meaning"],
    covers: [...event.data["covers"].events], verdict, counter,
  });
  if (verdict === "refused" || counter) return;
  const before = undone(setup).map((step) => step.id);
  if (before.length > 0 && before[0] !== "sign" && undoneAt(setup, "sign")) {
    setup.flags.push([event.id, "signed with open steps"]);
  }
  if (undoneAt(setup, "sign")) answer(setup, event);
}

/** Records after a signature that no later valid signature covers. */
export function unsignedAdditions(setup: Setup): string[] {
  const covered = new Set(validSignatures(setup).flatMap((one) => one.covers));
  return setup.after_signature.filter((event) => !covered.has(event));
}

const afterRun = (setup: Setup, event: BenchEvent): boolean =>
  setup.plan.some((step) => step.id === event.step && AFTER_RUN.includes(step.kind));
