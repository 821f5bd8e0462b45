/** Numbers that come in: indicator readings, a read torque, part counts. */

import { html, nothing } from "lit";
import type { TemplateResult } from "lit";

import type { Pad } from "../../../shared/core/bench.ts";
import type { Doubt } from "../../../shared/core/numbers/plausibility.ts";
import { decimalsOf, shown } from "../../../shared/core/numbers/entry.ts";
import { clampLabel } from "../../../shared/core/geometry.ts";
import { surfaceValue } from "../../../shared/core/numbers/indicator.ts";
import { fieldOf, newPad, padText } from "../../../shared/core/numbers/pad.ts";
import type { Indicator, Step } from "../../../shared/core/types.ts";
import { unitWord } from "../../../shared/core/units.ts";
import type { Work } from "../../../shared/core/work.ts";
import { dial } from "../../ui/dial.ts";
import { keypad } from "../../ui/keypad.ts";
import type { Bench } from "../context.ts";
import { dec, num, plus } from "../context.ts";
import { reasonField } from "../fields.ts";
import { bigNumber, heading, mainKey } from "../parts.ts";

const padFor = (b: Bench, step: Step, use: Pad["use"]): Pad =>
  b.state.pad && b.state.pad.step === step.id ? b.state.pad : newPad(use, step.id);

export function readingView(b: Bench, work: Work, step: Step): TemplateResult {
  const second = work.status?.state === "second entry";
  const point = step.subject!.id;
  const pad = padFor(b, step, "reading");
  const title = second && pad.stage === "typing" ? b.t.outTitle(point) : b.t.read(point);
  const sub = second && pad.stage === "typing" ? b.t.outHelp : b.t.readIn(b.t.stateWord[step.state ?? ""] ?? "", work.indicator!.serial);
  return valueView(b, work, pad, heading(title, sub), b.t.readingReasons);
}

/** Typing or dial, then a question if there is one, then the value large, then the record. */
export function valueView(b: Bench, work: Work, pad: Pad, head: TemplateResult, reasons: readonly string[]): TemplateResult {
  if (pad.stage === "doubt") return doubtView(b, pad, work.indicator!);
  if (pad.stage === "typing") return typingView(b, work, pad, head);
  return savingView(b, work, pad, reasons);
}

function typingView(b: Bench, work: Work, pad: Pad, head: TemplateResult): TemplateResult {
  const indicator = work.indicator!;
  const onDial = pad.mode === "dial";
  const low = html`<div class="low">
    <button class="low-key" data-pad-mode=${onDial ? "keys" : "dial"} @click=${() => b.act.padMode(onDial ? "keys" : "dial")}>
      ${onDial ? b.t.useKeys : b.t.useDial}</button>
    ${pad.use === "correction"
      ? html`<button class="low-key" data-back @click=${() => b.act.panel(null)}>${b.t.back}</button>`
      : html`<button class="low-key" data-trouble @click=${() => b.act.panel({ name: "trouble" })}>${b.t.trouble}</button>`}
  </div>`;
  return html`${head}${display(b, work, pad, indicator)}${onDial ? dialPart(b, work, pad, indicator, low) : html`${low}${keypad({
    unit: indicator.unit, sign: true, words: keyWords(b), ready: padText(pad, fieldOf(pad, work), indicator) !== null,
    press: (key) => b.act.key(key), enter: null,
  })}`}`;
}

export const keyWords = (b: Bench) => ({ back: b.t.keyBack, enter: b.t.enter, sign: b.t.keySign });

function display(b: Bench, work: Work, pad: Pad, indicator: Indicator): TemplateResult {
  const field = fieldOf(pad, work);
  const text = padText(pad, field, indicator);
  const face = pad.mode === "keys" && pad.source !== "wedge" ? dec(b, shown(pad.entry, field)) : text === null ? "" : plus(b, text);
  return html`<div class=${`display ${b.state.wrongKey % 2 ? "flash-a" : "flash-b"} ${text === null ? "empty" : ""}`} aria-live="polite">
    <b data-display>${face}</b><span>${indicator.unit}</span></div>
    ${pad.source === "wedge" ? html`<p class="raw">${b.t.fromGauge(pad.raw)}</p>` : nothing}`;
}

function dialPart(b: Bench, work: Work, pad: Pad, indicator: Indicator, low: TemplateResult): TemplateResult {
  return html`${dial({
    indicator, turns: pad.turns, marks: pad.marks, decimal: (text) => dec(b, text),
    words: { turns: b.t.dialTurns, pointer: b.t.dialPointer, mark: b.t.oneMark, face: b.t.dialFace },
    setTurns: (turns) => b.act.turns(turns), setMarks: (marks) => b.act.marks(marks),
  })}${low}
  <button class="main" data-key="enter" data-main ?disabled=${padText(pad, fieldOf(pad, work), indicator) === null}
    @click=${() => b.act.key("enter")}>${b.t.enter}</button>`;
}

function doubtView(b: Bench, pad: Pad, indicator: Indicator): TemplateResult {
  return html`${heading(b.t.doubtTitle, "")}
    <div class="middle" data-doubt>${bigNumber(plus(b, pad.value!), indicator.unit, "")}
      ${pad.doubts.map((doubt) => html`<p class="big">▲ ${doubtWords(b, doubt, indicator)}</p>`)}</div>
    <div class="low"><button class="low-key" data-doubt-keep @click=${() => b.act.padStage("read back")}>${b.t.doubtKeep}</button></div>
    <button class="main" data-main @click=${() => b.act.clearPad()}>${b.t.again}</button>`;
}

function doubtWords(b: Bench, doubt: Doubt, indicator: Indicator): string {
  const decimals = decimalsOf(indicator.graduation);
  const say = (value: number): string => plus(b, value.toFixed(decimals));
  switch (doubt.kind) {
    case "off graduation":
      return b.t.doubtGraduation(num(b, indicator.graduation), indicator.unit);
    case "one turn":
      return b.t.doubtTurn(say(doubt.likely), indicator.unit);
    case "factor":
      return b.t.doubtFactor(num(b, doubt.factor), say(doubt.likely), indicator.unit);
  }
}

function savingView(b: Bench, work: Work, pad: Pad, reasons: readonly string[]): TemplateResult {
  const { unit } = work.indicator!;
  const value = surfaceValue(work.indicator!, pad.value!);
  const raw = value === pad.value ? "" : b.t.shownRaw(plus(b, pad.value!), unit);
  const withReason = pad.stage === "reason";
  return html`${heading(b.t.readBack, "")}
    <div class="middle" data-read-back>${bigNumber(plus(b, value), unit, raw)}${withReason ? reasonField(b, reasons) : nothing}</div>
    <div class="low"><button class="low-key" data-again @click=${() => b.act.clearPad()}>${b.t.again}</button></div>
    ${mainKey(b, b.t.save(plus(b, value), unit), () => b.act.savePad())}`;
}

export function peakView(b: Bench, work: Work, step: Step): TemplateResult {
  const pad = padFor(b, step, "peak");
  return html`${heading(b.t.peakTitle, b.t.tighten(clampLabel(step.subject!.id)))}
    ${simplePad(b, work, pad, unitWord(work.tool!.unit), html`<button class="low-key" data-back @click=${() => b.act.panel(null)}>${b.t.back}</button>`)}`;
}

export function countView(b: Bench, work: Work, step: Step): TemplateResult {
  const pad = padFor(b, step, "good");
  const order = [...work.sheet.order].reverse().map(clampLabel).join(" ");
  return html`${heading(pad.use === "scrap" ? b.t.unloadScrap : b.t.unloadGood, b.t.unloadHelp(order))}
    ${simplePad(b, work, pad, b.t.parts, html`<button class="low-key" data-trouble @click=${() => b.act.panel({ name: "trouble" })}>${b.t.trouble}</button>`)}`;
}

function simplePad(b: Bench, work: Work, pad: Pad, unit: string, low: TemplateResult): TemplateResult {
  const field = fieldOf(pad, work);
  const text = padText(pad, field, null);
  return html`<div class=${`display ${b.state.wrongKey % 2 ? "flash-a" : "flash-b"} ${text === null ? "empty" : ""}`} aria-live="polite">
      <b data-display>${dec(b, shown(pad.entry, field))}</b><span>${unit}</span></div>
    <div class="low">${low}</div>
    ${keypad({ unit, sign: false, words: keyWords(b), ready: text !== null, press: (key) => b.act.key(key), enter: null })}`;
}
