/** What opens beside the plan on request: trouble, note, pause, abandon, second signature. */

import { html } from "lit";
import type { TemplateResult } from "lit";
import { live } from "lit/directives/live.js";

import type { Panel } from "../../../shared/core/bench.ts";
import { newPad } from "../../../shared/core/numbers/pad.ts";
import type { StepKind } from "../../../shared/core/types.ts";
import type { Work } from "../../../shared/core/work.ts";
import type { Bench } from "../context.ts";
import { stepName, subjectName } from "../context.ts";
import { reasonField } from "../fields.ts";
import { heading, mainKey } from "../parts.ts";
import { valueView } from "./reading.ts";
import { bowView } from "./bow.ts";
import { recordedView } from "./recorded.ts";
import { runningPass } from "../before/resume.ts";
import { countersignView } from "./second.ts";

export function panelView(b: Bench, work: Work, panel: Panel): TemplateResult {
  switch (panel.name) {
    case "trouble":
      return troubleView(b, work);
    case "note":
      return noteView(b);
    case "pause":
      return pauseView(b, work);
    case "abandon":
      return abandonView(b);
    case "bow":
      return bowView(b, work);
    case "recorded":
      return recordedView(b, work);
    case "correct":
      return correctView(b, work, panel.event);
    case "undo":
      return undoView(b, work, panel.event);
    case "countersign":
      return countersignView(b, work);
  }
}

const AT_CLAMP = ["would not turn", "no grip", "thread"];
const LIKELY: Partial<Record<StepKind, string[]>> = {
  free: AT_CLAMP, grease: AT_CLAMP, snug: AT_CLAMP, torque: AT_CLAMP, recheck: AT_CLAMP, touch: AT_CLAMP, ease: AT_CLAMP,
  load: ["part not down"], gap: ["gap"], lock: ["gap"], zero: ["will not zero"], read: ["will not zero"],
};

const close = (b: Bench, words: string): TemplateResult =>
  html`<button class="low-key" data-back @click=${() => b.act.panel(null)}>${words}</button>`;

function troubleView(b: Bench, work: Work): TemplateResult {
  return html`${heading(b.t.troubleTitle, work.step ? stepName(b, work.step) : "")}
    <div class="middle"><p>${b.t.troubleHelp}</p>
      <div class="stack pairs">${[...(LIKELY[work.step?.kind ?? "clean"] ?? []), "other"].map((what) => html`
        <button class="low-key" data-what=${what} ?disabled=${b.state.busy} @click=${() => b.act.trouble(what)}>${b.t.troubles[what]}</button>`)}</div>
      ${textField(b, b.t.troubleText)}
    </div>
    <div class="low">${close(b, b.t.back)}</div>`;
}

const textField = (b: Bench, label: string): TemplateResult =>
  html`<div class="reason"><label for="reason">${label}</label>
    <input id="reason" data-reason maxlength="400" autocomplete="off" .value=${live(b.state.words)}
      @input=${(event: InputEvent) => b.act.words((event.target as HTMLInputElement).value)}></div>`;

function noteView(b: Bench): TemplateResult {
  return html`${heading(b.t.noteTitle, "")}<div class="middle">${textField(b, b.t.note)}</div>
    <div class="low">${close(b, b.t.back)}</div>${mainKey(b, b.t.noteSave, () => b.act.note())}`;
}

function pauseView(b: Bench, work: Work): TemplateResult {
  const running = runningPass(work.setup, work.step?.id ?? null);
  const words = running ? b.t.pauseMid(b.t.passWord(running.group), running.left) : b.t.pauseClean;
  return html`${heading(b.t.pauseTitle, "")}
    <div class="middle"><p class="big" data-running=${running?.group ?? "none"}>${running ? "▲ " : ""}${words}</p></div>
    ${work.phase === "working" ? html`<div class="low">
      <button class="low-key" data-pause-reason="break" ?disabled=${b.state.busy} @click=${() => b.act.pause("break")}>${b.t.pauseBreak}</button>
      <button class="low-key" data-pause-reason="left" ?disabled=${b.state.busy} @click=${() => b.act.pause("left")}>${b.t.pauseLeave}</button></div>
    <div class="low"><button class="low-key rust" data-abandon @click=${() => b.act.panel({ name: "abandon" })}>${b.t.abandon}</button></div>`
    : html`<div class="low"><button class="low-key" data-home @click=${() => b.act.home()}>${b.t.toPlates}</button></div>`}
    <button class="main" data-main @click=${() => b.act.panel(null)}>${b.t.stay}</button>`;
}

function abandonView(b: Bench): TemplateResult {
  return html`${heading(b.t.abandonTitle, "")}<div class="middle"><p class="big rust">▲ ${b.t.abandonHelp}</p>${textField(b, b.t.reasonHelp)}</div>
    <div class="low"><button class="low-key rust" data-abandon-do ?disabled=${b.state.busy} @click=${() => b.act.abandon()}>${b.t.abandonDo}</button></div>
    <button class="main" data-main @click=${() => b.act.panel(null)}>${b.t.stay}</button>`;
}

/** The reading that an event stands for, wherever it was corrected before. */
function stepOfEvent(work: Work, event: string) {
  const stepId = work.setup.stepOfEvent.get(event);
  return work.setup.plan.find((step) => step.id === stepId) ?? null;
}

function correctView(b: Bench, work: Work, event: string): TemplateResult {
  const step = stepOfEvent(work, event);
  const pad = b.state.pad?.use === "correction" ? b.state.pad : newPad("correction", work.step?.id ?? "");
  const head = heading(b.t.correctTitle(step?.subject?.id ?? ""), b.t.stateWord[step?.state ?? ""] ?? "");
  return valueView(b, work, pad, head, b.t.correctReasons);
}

function undoView(b: Bench, work: Work, event: string): TemplateResult {
  const trouble = work.setup.troubles.find((one) => one.event === event);
  if (trouble) {
    return html`${heading(b.t.settleTitle, b.t.troubles[trouble.what] ?? trouble.what)}<div class="middle">${textField(b, b.t.reasonHelp)}</div>
      <div class="low">${close(b, b.t.back)}</div>${mainKey(b, b.t.settleDo, () => b.act.closeTrouble(event))}`;
  }
  const step = stepOfEvent(work, event);
  return html`${heading(b.t.undoTitle, step ? `${b.t.stepName[step.kind]}${step.subject ? `, ${subjectName(b, step.subject)}` : ""}` : "")}
    <div class="middle"><p>${b.t.undoHelp}</p>${reasonField(b, b.t.correctReasons)}</div>
    <div class="low">${close(b, b.t.back)}</div>${mainKey(b, b.t.undoDo, () => b.act.undo(event))}`;
}
