import { html, nothing } from "lit";
import type { TemplateResult } from "lit";

import { newPad } from "../../../shared/core/numbers/pad.ts";
import type { Step } from "../../../shared/core/types.ts";
import type { Work } from "../../../shared/core/work.ts";
import { hold } from "../../ui/hold.ts";
import { keypad } from "../../ui/keypad.ts";
import type { Bench } from "../context.ts";
import { heading } from "../parts.ts";
import { keyWords } from "./reading.ts";

const SHORTEST_PIN = 4;

export function signView(b: Bench, work: Work, step: Step): TemplateResult {
  const { setup } = work;
  const refused = [...setup.signatures].reverse().find((one) => !one.counter);
  const reason = refused?.verdict === "refused" ? b.state.verdicts.get(refused.event)?.reason ?? "" : null;
  const again = setup.after_signature.length > 0 && setup.signatures.some((one) => one.verdict !== "refused");
  return html`${heading(again ? b.t.signAgain : b.t.signTitle, b.t.signMeaning(b.state.person ?? ""))}
    ${reason !== null ? html`<p class="said rust" role="alert" data-refused>▲ ${b.t.refused(reason.replace(/\.$/, ""))}</p>` : nothing}
    <div class="middle plain"><ul class="sums">${summary(b, work).map((line) => html`<li>${line}</li>`)}</ul></div>
    ${pinPart(b, step.id)}`;
}

function summary(b: Bench, work: Work): string[] {
  const { setup, sheet } = work;
  const finals = [...setup.readings.values()].flatMap((reading) => (reading.final ? [reading.final] : []));
  const movers = [...setup.movers.values()].flat();
  return [
    b.t.signCount(b.state.setups.get(setup.id)?.length ?? 0),
    b.t.signClamps(sheet.clamps.length, sheet.passes.length),
    b.t.signReadings(finals.length, finals.filter((one) => one.out).length),
    `${b.t.signMovers(new Set(movers).size)}, ${b.t.signTroubles(setup.troubles.length)}`,
  ];
}

/** PIN pad whose last key is held, not tapped. */
export function pinPart(b: Bench, stepId: string): TemplateResult {
  if (!b.state.shop?.key) return html`<p class="said rust" role="alert">▲ ${b.t.noKey}</p>`;
  const pad = b.state.pad?.use === "pin" ? b.state.pad : newPad("pin", stepId);
  const { length } = pad.entry.digits;
  const ready = length >= SHORTEST_PIN && !b.state.busy;
  const enter = html`<button class="key main enter hold" data-main data-key="enter" ?disabled=${!ready} ${hold(() => b.act.sign())}>
    <span>${b.t.holdToSign}</span></button>`;
  return html`<div class=${`display pin ${b.state.wrongKey % 2 ? "flash-a" : "flash-b"}`} aria-label=${b.t.pinDigits(length)}>
      <span>${b.t.pin}</span><b>${"●".repeat(length)}${"○".repeat(Math.max(0, SHORTEST_PIN - length))}</b></div>
    ${keypad({ unit: "", sign: false, words: keyWords(b), ready, press: (key) => b.act.key(key), enter })}`;
}
