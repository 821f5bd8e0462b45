/** What the aside shows when the next step cannot simply be done. */

import { html, nothing } from "lit";
import type { TemplateResult } from "lit";

import type { Kept } from "../../../shared/core/bench.ts";
import type { Step } from "../../../shared/core/types.ts";
import type { Blocked, Work } from "../../../shared/core/work.ts";
import type { Bench } from "../context.ts";
import { dec, stepName, when } from "../context.ts";
import { reasonField } from "../fields.ts";

/** The wanted step waits; each open item is named and can be gone to. */
export function blockedView(b: Bench, blocked: Blocked): TemplateResult {
  const [first, ...others] = blocked.open;
  return html`<h1 tabindex="-1" data-heading>${b.t.blockedTitle(b.t.stepName[blocked.wanted.kind] ?? "")}</h1>
    <div class="middle" data-blocked>
      <p class="big rust">▲ ${b.t.blockedHelp(blocked.open.map((step) => stepName(b, step)).join(", "))}</p>
      <div class="stack">${others.map((step) => html`
        <button class="low-key" data-goto=${step.id} @click=${() => b.act.goTo(step.id)}>${b.t.goTo(stepName(b, step))}</button>`)}</div>
    </div>
    ${first ? html`<button class="main" data-main data-goto=${first.id} @click=${() => b.act.goTo(first.id)}>
      ${b.t.goTo(stepName(b, first))}</button>` : nothing}`;
}

export function watchView(b: Bench, work: Work): TemplateResult {
  return html`<h1 tabindex="-1" data-heading>${b.t.takenTitle(work.setup.owner_person ?? "")}</h1>
    <div class="middle"><p class="big">${b.t.takenHelp}</p>
      ${work.step ? html`<p>${b.t.step(Math.min(work.done + 1, work.of), work.of)}: ${stepName(b, work.step)}</p>` : nothing}</div>
    <div class="low"><button class="low-key" data-home @click=${() => b.act.home()}>${b.t.toPlates}</button></div>
    <button class="main" data-main data-takeover ?disabled=${b.state.busy} @click=${() => b.act.takeOver()}>${b.t.takeBack}</button>`;
}

export function overView(b: Bench, work: Work): TemplateResult {
  return html`<h1 tabindex="-1" data-heading>${b.t.overTitle[work.phase] ?? b.t.overTitle["finished"]}</h1>
    <div class="middle plain"><ul class="sums">${overLines(b, work).map((line) => html`<li>${line}</li>`)}</ul></div>
    <button class="main" data-main data-home @click=${() => b.act.home()}>${b.t.toPlates}</button>`;
}

function overLines(b: Bench, work: Work): string[] {
  const count = (b.state.setups.get(work.setup.id) ?? []).find(({ event }) => event.id === work.setup.steps.get("unload")?.event);
  const { good, scrap } = count?.event.data ?? {};
  return [
    ...(typeof good === "number" && typeof scrap === "number" ? [b.t.overParts(good, scrap)] : []),
    ...(work.phase === "rejected" ? [] : [b.t.plateFree(work.plate)]),
  ];
}

/** Both records stand side by side; a named person says which counts, and why. */
export function rivalView(b: Bench, work: Work, step: Step): TemplateResult {
  const answers = work.setup.steps.get(step.id)!.answers;
  const kept = b.state.setups.get(work.setup.id) ?? [];
  const found = answers.flatMap((id) => kept.filter((one) => one.event.id === id));
  return html`<h1 tabindex="-1" data-heading>${b.t.rivalTitle(stepName(b, step))}</h1>
    <div class="middle" data-rival><p>${b.t.rivalHelp}</p>
      ${reasonField(b, b.t.rivalReasons)}
      <div class="stack">${found.map((one) => html`
        <button class="choice" data-keep=${one.event.id} ?disabled=${b.state.busy} @click=${() => b.act.settle(step.id, one.event.id)}>
          <span class="choice-name"><b>${answerWords(b, one)}</b></span>
          <span class="choice-more">${one.event.person}, ${when(b, one.event.at)}. ${b.t.rivalKeep}</span></button>`)}</div>
    </div>`;
}

function answerWords(b: Bench, { event }: Kept): string {
  const { value, unit, set } = event.data as { value?: string; unit?: string; set?: { value: string; unit: string } };
  if (value !== undefined) return `${dec(b, value)} ${unit}`;
  return `${b.t.eventName[event.kind]}${set ? `, ${dec(b, set.value)} ${set.unit}` : ""}`;
}
