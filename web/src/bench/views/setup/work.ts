import { html, nothing } from "lit";
import type { TemplateResult } from "lit";

import type { Said } from "../../../shared/core/bench.ts";
import { clampLabel } from "../../../shared/core/geometry.ts";
import { secondWanted } from "../../../shared/core/setup/state.ts";
import type { Step } from "../../../shared/core/types.ts";
import { unitWord } from "../../../shared/core/units.ts";
import { clampStates } from "../../../shared/core/work.ts";
import type { Work } from "../../../shared/core/work.ts";
import { planView } from "../../ui/plan.ts";
import type { ClampMark, PlanMarks } from "../../ui/plan.ts";
import type { Bench } from "../context.ts";
import { num, plus } from "../context.ts";
import { notices, pageView, topLine } from "../frame.ts";
import { expectedWords } from "./bow.ts";
import { panelView } from "./panels.ts";
import { secondView } from "./second.ts";
import { blockedView, overView, rivalView, watchView } from "./pauses.ts";
import { nextClampStep } from "./places.ts";
import { stepView } from "./steps.ts";

/** What the aside shows and which step it is about; the page around it is always the same. */
export interface Aside { step: Step | null; name?: string; view: TemplateResult }

export function workView(b: Bench, work: Work | null): TemplateResult {
  if (!work) return pageView(b, { title: b.t.bench, body: html`<p>${b.t.noSheet}</p>`, back: () => b.act.home() });
  const aside = asideOf(b, work);
  return html`${topLine(b, work, "")}${notices(b)}
    <main class="work" data-screen="work" data-step=${aside.step?.kind ?? "none"} data-step-id=${aside.step?.id ?? ""}
      data-aside=${aside.name ?? "step"} data-setup=${work.setup.id}>
      ${planPart(b, work)}
      <section class="do">${saidLine(b)}${aside.view}</section>
    </main>`;
}

function asideOf(b: Bench, work: Work): Aside {
  const { screen } = b.state;
  if (screen.name === "work" && screen.panel) return { step: work.step, name: screen.panel.name, view: panelView(b, work, screen.panel) };
  if (["finished", "rejected", "abandoned"].includes(work.phase)) return { step: null, name: "over", view: overView(b, work) };
  if (!work.mine) return { step: work.step, name: "watch", view: watchView(b, work) };
  if (work.rival) return { step: work.rival, name: "rival", view: rivalView(b, work, work.rival) };
  if (work.blocked) return { step: work.blocked.wanted, name: "blocked", view: blockedView(b, work.blocked) };
  if (secondWanted(work.setup) && work.step?.kind !== "sign") return { step: null, name: "second", view: secondView(b, work) };
  if (!work.step) return { step: null, name: "over", view: overView(b, work) };
  return { step: work.step, view: stepView(b, work, work.step) };
}

function planPart(b: Bench, work: Work): TemplateResult {
  const { turn } = b.state.settings;
  const { tool, indicator } = work;
  const kit = [
    tool ? b.t.tool(tool.serial, b.t.toolKind[tool.kind]!, b.t.range(num(b, tool.low), num(b, tool.high), unitWord(tool.unit))) : "",
    indicator ? `${indicator.serial} ${b.t.indicatorKind[indicator.kind]}` : "",
  ].filter(Boolean);
  const panel = (name: "pause" | "note" | "recorded") => (): void =>
    b.act.panel({ name });
  return html`<section class="plan" aria-label=${b.t.planLabel(work.plate)}>
    ${planView(work.sheet, turn, marksOf(b, work), b.t.planLabel(work.plate))}
    <p class="plan-words"><span>${b.t.seenFrom[turn]}</span>${kit.map((line) => html`<span>${line}</span>`)}
      ${b.state.awake === false ? html`<span class="rust">▲ ${b.t.dark}</span>` : nothing}</p>
    <div class="plan-keys">
      <button class="low-key" data-pause @click=${panel("pause")}>${b.t.pause}</button>
      <button class="low-key" data-note @click=${panel("note")}>${b.t.note}</button>
      <button class="low-key" data-recorded @click=${panel("recorded")}>${b.t.recorded}</button>
      <button class="low-key" data-turn @click=${() => b.act.turnPlan()}>${b.t.turn}</button>
    </div>
  </section>`;
}

function marksOf(b: Bench, work: Work): PlanMarks {
  const step = work.step ?? work.blocked?.wanted ?? null;
  const clamps = new Map<string, ClampMark>(clampStates(work.setup, work.step));
  const next = work.step ? nextClampStep(work, work.step) : null;
  if (next && clamps.get(next.subject!.id) === "open") clamps.set(next.subject!.id, "next");
  if (work.mine && work.step?.subject?.type === "clamp") clamps.set(work.step.subject.id, "now");
  return { clamps, subject: step?.subject ?? null, troubleWord: b.t.troubleWord };
}

function saidLine(b: Bench): TemplateResult | typeof nothing {
  const { said } = b.state;
  if (!said) return nothing;
  const compared = "expected" in said ? said.expected : null;
  return html`<p class="said" role="status" data-said>${saidWords(b, said)}${compared ? expectedWords(b, compared) : nothing}</p>`;
}

function saidWords(b: Bench, said: Said): string {
  switch (said.kind) {
    case "within":
      return b.t.within(said.point, plus(b, said.value), said.unit, num(b, said.low), num(b, said.high));
    case "out":
      return `▲ ${b.t.outSaid(said.point, plus(b, said.value), said.unit, num(b, said.low), num(b, said.high))}`;
    case "kept":
      return b.t.saved(said.point, plus(b, said.value), said.unit);
    case "pass done":
      return b.t.passDone(said.pass);
    case "movers":
      return b.t.moversSaid(said.clamps.map(clampLabel));
    case "restarted":
      return b.t.restartedSaid(said.group);
  }
}

