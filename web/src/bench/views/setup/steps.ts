/** One thing to do: heading, hint, the number to set, and the one main action, by kind of step. */

import { html, nothing } from "lit";
import type { TemplateResult } from "lit";

import { settingText } from "../../../shared/core/choice.ts";
import { clampLabel } from "../../../shared/core/geometry.ts";
import type { Step } from "../../../shared/core/types.ts";
import { unitWord } from "../../../shared/core/units.ts";
import type { Work } from "../../../shared/core/work.ts";
import type { Bench } from "../context.ts";
import { dec, num } from "../context.ts";
import { bowLine } from "./bow.ts";
import { judgeView } from "./judge.ts";
import { bigNumber, heading, mainKey } from "../parts.ts";
import { nextClampStep, placeWords } from "./places.ts";
import { countView, peakView, readingView } from "./reading.ts";
import { readyView } from "./ready.ts";
import { signView } from "./sign.ts";

export function stepView(b: Bench, work: Work, step: Step): TemplateResult {
  switch (step.kind) {
    case "torque": case "ease":
      return b.state.pad?.use === "peak" ? peakView(b, work, step) : tightenView(b, work, step);
    case "recheck": case "touch":
      return recheckView(b, work, step);
    case "read":
      return readingView(b, work, step);
    case "judge":
      return judgeView(b, work);
    case "sign":
      return signView(b, work, step);
    case "machine":
      return readyView(b, work);
    case "unload":
      return countView(b, work, step);
    default:
      return plainView(b, work, step);
  }
}

interface Plain { words: readonly string[]; trouble: string | null; sub?: string; number?: TemplateResult | typeof nothing }

function plainView(b: Bench, work: Work, step: Step): TemplateResult {
  const { words, trouble, sub, number } = plainOf(b, work, step);
  const [title, hint, main] = words as [string, string, string];
  return html`${heading(title, sub ?? place(b, work, step))}
    <div class=${number ? "middle" : "middle plain"}>${number ?? nothing}<p class="hint">${hint}</p>${nextLine(b, work, step)}</div>
    ${lowKeys(b, trouble)}
    ${mainKey(b, main, () => b.act.done(step.kind === "lift" ? { hoist: true } : {}))}`;
}

function plainOf(b: Bench, work: Work, step: Step): Plain {
  const id = step.subject?.id ?? "";
  const clamp = clampLabel(id);
  switch (step.kind) {
    case "clean":
      return { words: cleanWords(b, step), trouble: null };
    case "free":
      return { words: b.t.free(clamp), trouble: "would not turn" };
    case "grease":
      return { words: greaseWords(b, work, id), trouble: null };
    case "load":
      return { words: b.t.load(id), trouble: "part not down" };
    case "snug":
      return { words: b.t.snug(clamp), trouble: "would not turn" };
    case "zero":
      return { words: b.t.zero(id, b.t.stateWord[step.state ?? ""] ?? ""), trouble: "will not zero", sub: work.indicator?.serial ?? "" };
    case "lock":
      return { words: step.state === "empty locked" ? b.t.lockEmpty : b.t.lock, trouble: null };
    case "unlock":
      return { words: b.t.unlock, trouble: null };
    case "gap":
      return { words: b.t.gap(id), trouble: "gap" };
    default:
      return { words: b.t.lift, trouble: null, number: massNumber(b, work) };
  }
}

function cleanWords(b: Bench, step: Step): readonly string[] {
  const { type, id } = step.subject!;
  if (type === "plate") return id === "underside" ? b.t.clean.underside : b.t.clean.top;
  return type === "stop" ? b.t.clean.stop(id) : type === "stud" ? b.t.clean.stud(id) : b.t.clean.receiver(id);
}

function greaseWords(b: Bench, work: Work, clampId: string): string[] {
  const [title, hint, main] = b.t.grease(clampLabel(clampId)) as [string, string, string];
  const id = work.sheet.clamps.find((clamp) => clamp.id === clampId)?.grease;
  const frozen = (work.setup.opened!["frozen"].greases ?? []) as { id: string; title: string }[];
  const grease = frozen.find((one) => one.id === id)?.title;
  return [title, grease ? `${hint} ${b.t.greaseWith(grease)}` : hint, main];
}

const massNumber = (b: Bench, work: Work): TemplateResult | typeof nothing =>
  work.sheet.mass_kg === null ? nothing : bigNumber(num(b, work.sheet.mass_kg), "kg", b.t.loadedMass);

function tightenView(b: Bench, work: Work, step: Step): TemplateResult {
  const tool = work.tool!;
  const easing = step.kind === "ease";
  const clamp = clampLabel(step.subject!.id);
  const sub = easing || step.pass === null ? "" : b.t.passOf(step.pass, work.sheet.passes.length, Math.round((step.share ?? 1) * 100));
  return html`${heading(easing ? b.t.ease(clamp) : b.t.tighten(clamp), place(b, work, step))}
    <div class="middle">
      ${setNumber(b, work, step, sub)}
      <p class="hint">${easing ? `${b.t.easeHelp} ${b.t.pull[tool.kind]}` : b.t.pull[tool.kind]}</p>${nextLine(b, work, step)}
      ${tool.kind === "reading" && !easing ? html`<button class="low-key peak" data-peak @click=${() => b.act.openPad("peak")}>${b.t.typePeak}</button>` : nothing}
      ${easing ? nothing : bowLine(b, work)}
    </div>
    ${lowKeys(b, "would not turn")}
    ${mainKey(b, b.t.reached[tool.kind]!, () => b.act.tightened())}`;
}

function recheckView(b: Bench, work: Work, step: Step): TemplateResult {
  const clamp = clampLabel(step.subject!.id);
  const touch = step.kind === "touch";
  const sub = touch ? "" : b.t.round(work.setup.round);
  return html`${heading(touch ? b.t.touch(clamp) : b.t.recheck(clamp), place(b, work, step))}
    <div class="middle">${setNumber(b, work, step, sub)}<p class="hint">${b.t.recheckHelp}</p>${nextLine(b, work, step)}${touch ? nothing : bowLine(b, work)}</div>
    <div class="low">
      <button class="low-key" data-moved ?disabled=${b.state.busy} @click=${() => b.act.moved()}>${b.t.itMoved}</button>
      <button class="low-key" data-trouble @click=${() => b.act.panel({ name: "trouble" })}>${b.t.trouble}</button>
    </div>
    ${mainKey(b, b.t.stayed, () => b.act.done())}`;
}

const setNumber = (b: Bench, work: Work, step: Step, more: string): TemplateResult =>
  bigNumber(dec(b, settingText(work.tool!, step.target!.value)), unitWord(work.tool!.unit), more);

/** The likeliest trouble by name, and the list of all; neither ever changes place with the main action. */
function lowKeys(b: Bench, likely: string | null): TemplateResult {
  return html`<div class="low">
    ${likely ? html`<button class="low-key" data-likely-trouble ?disabled=${b.state.busy} @click=${() => b.act.trouble(likely)}>${b.t.troubles[likely]}</button>` : nothing}
    <button class="low-key" data-trouble @click=${() => b.act.panel({ name: "trouble" })}>${b.t.trouble}</button>
  </div>`;
}

const place = (b: Bench, work: Work, step: Step): string =>
  step.subject?.type === "clamp" ? placeWords(b, work, step.subject.id) : "";

function nextLine(b: Bench, work: Work, step: Step): TemplateResult | typeof nothing {
  const next = step.subject?.type === "clamp" ? nextClampStep(work, step) : null;
  const id = next?.subject?.id;
  return id ? html`<p class="next">${b.t.nextClamp(clampLabel(id), placeWords(b, work, id))}</p>` : nothing;
}
