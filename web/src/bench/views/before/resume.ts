import { html, nothing } from "lit";
import type { TemplateResult } from "lit";

import { groupOf } from "../../../shared/core/plan.ts";
import { isUndone, undoneAt } from "../../../shared/core/setup/state.ts";
import type { Setup } from "../../../shared/core/setup/state.ts";
import type { Work } from "../../../shared/core/work.ts";
import type { Bench } from "../context.ts";
import { stepName, when } from "../context.ts";
import { pageView } from "../frame.ts";

/** The pass that is partly done at this step, and how many clamps are left in it; null at a clean stopping point. */
export function runningPass(setup: Setup, stepId: string | null): { group: string; left: number } | null {
  const step = setup.plan.find((one) => one.id === stepId);
  const group = step ? groupOf(step) : null;
  if (group === null) return null;
  const same = setup.plan.filter((one) => groupOf(one) === group);
  const left = same.filter((one) => undoneAt(setup, one.id)).length;
  return left < same.length ? { group, left } : null;
}

export function resumeView(b: Bench, work: Work | null, person: string): TemplateResult {
  if (!work) return pageView(b, { title: b.t.bench, body: html`<p>${b.t.noSheet}</p>`, back: () => b.act.home() });
  const { setup } = work;
  const elsewhere = setup.owner_tablet !== b.state.tablet;
  const another = setup.owner_person !== person;
  const main = elsewhere || another
    ? html`<button class="main" data-main data-takeover ?disabled=${b.state.busy} @click=${() => b.act.takeOver()}>${b.t.takeOver}</button>`
    : html`<button class="main" data-main ?disabled=${b.state.busy} @click=${() => b.act.goOn()}>${b.t.goOn(person)}</button>`;
  return pageView(b, { title: b.t.resumeTitle(work.plate), body: body(b, work, elsewhere, another), main, back: () => b.act.home() });
}

function body(b: Bench, work: Work, elsewhere: boolean, another: boolean): TemplateResult {
  const { setup } = work;
  const last = b.state.setups.get(setup.id)?.at(-1)?.event;
  const restart = last ? setup.restarts.find((one) => one.event === last.id) : undefined;
  const running = elsewhere || another ? runningPass(setup, work.step?.id ?? null) : null;
  return html`<p class="big">${b.t.step(Math.min(work.done + 1, work.of), work.of)}${work.step ? `: ${stepName(b, work.step)}` : ""}</p>
    <p>${b.t.resumeBy(last?.person ?? setup.owner_person ?? "", when(b, last?.at ?? null))}</p>
    ${elsewhere ? html`<p>${b.t.resumeOther}</p>` : another ? html`<p>${b.t.resumePerson(setup.owner_person ?? "")}</p>` : nothing}
    ${restart ? html`<p class="said">${b.t.restartNote(b.t.passWord(restart.group))}</p>` : nothing}
    ${running ? html`<p class="said">${b.t.willRestart(b.t.passWord(running.group))}</p>` : nothing}
    ${openItems(b, setup)}`;
}

function openItems(b: Bench, setup: Setup): TemplateResult | typeof nothing {
  const open = setup.troubles.filter((trouble) => trouble.open);
  const rivals = setup.plan.filter((step) => isUndone(setup.steps.get(step.id)!) && setup.steps.get(step.id)!.state === "two answers");
  if (open.length + rivals.length === 0) return nothing;
  return html`<h2>${b.t.openItems}</h2><ul class="due">
    ${open.map((one) => html`<li class="now">▲ ${b.t.troubles[one.what] ?? one.what}${stepWord(b, setup, one.step)}</li>`)}
    ${rivals.map((step) => html`<li class="now">▲ ${b.t.rivalTitle(stepName(b, step))}</li>`)}</ul>`;
}

function stepWord(b: Bench, setup: Setup, stepId: string | null): string {
  const step = setup.plan.find((one) => one.id === stepId);
  return step ? `, ${stepName(b, step)}` : "";
}
