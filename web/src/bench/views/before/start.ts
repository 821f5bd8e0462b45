/** Before the first step: what is due, and which wrench and indicator to take. */

import { html, nothing } from "lit";
import type { TemplateResult } from "lit";

import { indicatorAdvice, indicatorRefusals, toolRefusals, torquesOf, widthsOf } from "../../../shared/core/choice.ts";
import type { Refusal } from "../../../shared/core/choice.ts";
import { decimalsOf } from "../../../shared/core/numbers/entry.ts";
import { clampLabel } from "../../../shared/core/geometry.ts";
import { dueOf, sheetFor } from "../../../shared/core/plates.ts";
import { today } from "../../../shared/core/time.ts";
import type { Indicator, PlateInfo, Sheet, TorqueTool } from "../../../shared/core/types.ts";
import { unitWord } from "../../../shared/core/units.ts";
import type { Bench } from "../context.ts";
import { dec, num } from "../context.ts";
import { pageView } from "../frame.ts";

function plateOf(b: Bench, serial: string): { info: PlateInfo; sheet: Sheet } | null {
  const info = b.state.shop?.plates.find((plate) => plate.serial === serial);
  const sheet = info ? sheetFor(b.state, info) : null;
  return info && sheet ? { info, sheet } : null;
}

export function dueView(b: Bench, serial: string): TemplateResult {
  const found = plateOf(b, serial);
  if (!found) return pageView(b, { title: b.t.dueTitle, body: html`<p>${b.t.noSheet}</p>`, back: () => b.act.home() });
  const lines = dueLines(b, found.info, found.sheet);
  const body = html`<p class="subject"><b>${serial}</b> ${found.sheet.title}, ${b.t.revision(found.sheet.revision)}</p>
    ${lines.some((line) => line.due) ? nothing : html`<p class="big">${b.t.nothingDue}</p>`}
    <ul class="due">${lines.map((line) => html`<li class=${line.due ? "now" : ""}>${line.due ? "▲ " : ""}${line.words}</li>`)}</ul>
    <p class="caution">${b.t.caution}</p>`;
  const main = html`<button class="main" data-main @click=${() => b.act.startWork()}>${b.t.goChoose}</button>`;
  return pageView(b, { title: b.t.dueTitle, body, main, back: () => b.act.home() });
}

function dueLines(b: Bench, info: PlateInfo, sheet: Sheet): { due: boolean; words: string }[] {
  const due = dueOf(b.state, info, sheet);
  const lines = [];
  if (due.greaseEvery !== null) {
    const words = due.grease ? b.t.greaseDue(due.greaseCount, due.greaseEvery) : b.t.greaseLater(due.greaseEvery - due.greaseCount);
    lines.push({ due: due.grease, words });
  }
  if (due.baselineEvery !== null && sheet.points.length > 0) {
    const words = due.baseline
      ? b.t.baselineDue(due.baselineCount, due.baselineEvery) : b.t.baselineLater(due.baselineEvery - due.baselineCount);
    lines.push({ due: due.baseline, words });
  }
  for (const trouble of info.open_troubles) {
    const where = trouble.clamp ? b.t.clampWord(clampLabel(trouble.clamp)) : trouble.step ?? "";
    lines.push({ due: true, words: b.t.openTrouble(b.t.troubles[trouble.what] ?? trouble.what, where) });
  }
  return lines.sort((x, y) => Number(y.due) - Number(x.due));
}

export function toolsView(b: Bench, serial: string, tool: string | null, indicator: string | null): TemplateResult {
  const found = plateOf(b, serial);
  const { shop } = b.state;
  if (!found || !shop) return pageView(b, { title: b.t.toolsTitle, body: html`<p>${b.t.noSheet}</p>`, back: () => b.act.home() });
  const measuring = found.sheet.points.length > 0;
  const body = html`<div class="choices">
    <section aria-label=${b.t.wrench}><h2>${b.t.wrench}</h2>${shop.tools.map((one) => toolRow(b, one, found.sheet, one.serial === tool))}</section>
    ${measuring ? html`<section aria-label=${b.t.indicator}><h2>${b.t.indicator}</h2>
      ${shop.indicators.map((one) => indicatorRow(b, one, found.sheet, one.serial === indicator))}</section>` : nothing}
  </div>`;
  const ready = tool !== null && (!measuring || indicator !== null);
  const main = html`<button class="main" data-main ?disabled=${!ready || b.state.busy} @click=${() => b.act.openSetup()}>${b.t.startSetup}</button>`;
  return pageView(b, { title: measuring ? b.t.toolsTitle : b.t.toolsTitleNoIndicator, body, main, back: () => b.act.home() });
}

function toolRow(b: Bench, tool: TorqueTool, sheet: Sheet, chosen: boolean): TemplateResult {
  const refused = toolRefusals(tool, torquesOf(sheet), today(b.state.nowMs));
  const left = tool.pulls_limit - (tool.pulls ?? tool.pulls_before);
  const more = `${b.t.range(num(b, tool.low), num(b, tool.high), unitWord(tool.unit))} · ${b.t.dueOn(tool.due)} · ${b.t.pullsLeft(left)}`;
  return html`<button class="choice ${refused.length > 0 ? "shut" : ""}" data-tool=${tool.serial} aria-pressed=${chosen}
    aria-disabled=${refused.length > 0} @click=${() => b.act.chooseTool(tool.serial)}>
    <span class="choice-name"><b>${tool.serial}</b> ${b.t.toolKind[tool.kind]}</span>
    ${refused.length > 0 ? reasons(b, refused) : html`<span class="choice-more">${more}</span>`}</button>`;
}

function indicatorRow(b: Bench, indicator: Indicator, sheet: Sheet, chosen: boolean): TemplateResult {
  const day = today(b.state.nowMs);
  const refused = indicatorRefusals(indicator, widthsOf(sheet), day);
  const advice = indicatorAdvice(indicator, widthsOf(sheet));
  const more = `${b.t.graduation(num(b, indicator.graduation), indicator.unit)} · ${b.t.dueOn(indicator.due)}`;
  return html`<button class="choice ${refused.length > 0 ? "shut" : ""}" data-indicator=${indicator.serial} aria-pressed=${chosen}
    aria-disabled=${refused.length > 0} @click=${() => b.act.chooseIndicator(indicator.serial)}>
    <span class="choice-name"><b>${indicator.serial}</b> ${b.t.indicatorKind[indicator.kind]}</span>
    ${refused.length > 0 ? reasons(b, refused) : html`<span class="choice-more">${more}</span>
      ${advice?.code === "coarse" ? html`<span class="choice-more">${b.t.advice(mm(b, advice.graduationMm), mm(b, advice.widthMm))}</span>` : nothing}`}
  </button>`;
}

const mm = (b: Bench, valueMm: number): string => num(b, Number(valueMm.toPrecision(4)));

const reasons = (b: Bench, refused: readonly Refusal[]): TemplateResult =>
  html`<span class="refused">${refused.map((one) => html`<span>▲ ${refusalWords(b, one)}</span>`)}</span>`;

function refusalWords(b: Bench, refusal: Refusal): string {
  const words = b.t.refusal;
  switch (refusal.code) {
    case "withdrawn":
      return words.withdrawn;
    case "overdue-by-date":
      return words.overdueDate(refusal.due);
    case "overdue-by-pulls":
      return words.overduePulls(String(refusal.pulls), String(refusal.limit));
    case "below-range": case "above-range": {
      const shown = [refusal.set, refusal.low, refusal.high].map((value) => num(b, Number(value.toPrecision(3))));
      const say = refusal.code === "below-range" ? words.below : words.above;
      return say(shown[0]!, shown[1]!, shown[2]!, unitWord(refusal.unit));
    }
    case "stylus-too-steep":
      return words.stylus(num(b, refusal.deg));
    default:
      return words.coarse(mm(b, refusal.graduationMm), mm(b, refusal.widthMm));
  }
}

export const graduationText = (b: Bench, indicator: Indicator): string =>
  dec(b, indicator.graduation.toFixed(decimalsOf(indicator.graduation)));
