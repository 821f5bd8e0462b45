/** What the design's analysis expects: the bow beside the tightening, and the band beside a kept reading. */

import { html, nothing, svg } from "lit";
import type { TemplateResult } from "lit";

import { bowsNow, bowsThen, shapeOf } from "../../../shared/core/bow.ts";
import type { Bow, Shape } from "../../../shared/core/bow.ts";
import { graduationMm } from "../../../shared/core/choice.ts";
import type { Compared, Lies } from "../../../shared/core/expected.ts";
import { decimalsOf } from "../../../shared/core/numbers/entry.ts";
import type { Indicator } from "../../../shared/core/types.ts";
import { lengthIn } from "../../../shared/core/units.ts";
import type { Work } from "../../../shared/core/work.ts";
import type { Bench } from "../context.ts";
import { dec, plus } from "../context.ts";
import { heading } from "../parts.ts";

/** The most bowed point in one line; touching it shows all points. Nothing where the sheet has no guide. */
export function bowLine(b: Bench, work: Work): TemplateResult | typeof nothing {
  const [most] = bowsNow(work.setup, work.sheet);
  if (!most || !work.indicator) return nothing;
  const { unit } = work.indicator;
  const shape = shapeAt(work, most.point, most.um);
  const size = dec(b, sizeText(work.indicator, Math.abs(most.um)));
  const way = shape === "flat" ? "flat" : most.um > 0 ? "up" : "down";
  const words = shape === way && shape !== "flat" ? b.t.estimated : `${b.t.bowShape[shape]}, ${b.t.estimated}`;
  return html`<button class="bow" data-bow=${most.point} @click=${() => b.act.panel({ name: "bow" })}>
    ${arc(shape)}<span class="bow-words"><span data-bow-now>${b.t.bowNow[way]!(most.point, size, unit)}</span>
      <small>${words} <span class="more">${b.t.more}</span></small></span></button>`;
}

export function bowView(b: Bench, work: Work): TemplateResult {
  return html`${heading(b.t.bowTitle, b.t.bowHelp)}
    <div class="middle plain" data-bows tabindex="0">${pointRows(b, work)}</div>
    <div class="low"><button class="low-key" data-back @click=${() => b.act.panel(null)}>${b.t.back}</button></div>`;
}

function pointRows(b: Bench, work: Work): TemplateResult[] {
  const { setup, sheet, step } = work;
  const [now, end] = [bowsNow(setup, sheet), bowsThen(setup, sheet, null)];
  const then = step?.kind === "torque" ? bowsThen(setup, sheet, step) : [];
  const um = (bows: readonly Bow[], point: string): number[] => bows.filter((bow) => bow.point === point).map((bow) => bow.um);
  return end.map(({ point }) => pointRow(b, work, point, { now: um(now, point), then: um(then, point), end: um(end, point) }));
}

type Moments = Record<"now" | "then" | "end", readonly number[]>;

function pointRow(b: Bench, work: Work, point: string, moments: Moments): TemplateResult {
  const { unit } = work.indicator!;
  const shape = shapeAt(work, point, moments.end[0]!);
  const told = (["now", "then", "end"] as const).flatMap((moment) => moments[moment].map((um) => html`
    <div><dt>${b.t.bowBy[moment]}</dt><dd>${plus(b, sizeText(work.indicator!, um))} ${unit}</dd></div>`));
  return html`<section class="bow-point" data-bow-point=${point}>
    <h2>${arc(shape)}${b.t.subjectName.point(point)}, ${b.t.bowShape[shape]}</h2><dl>${told}</dl></section>`;
}

/** Under half a mark of the indicator a plate counts as flat. */
const shapeAt = (work: Work, point: string, um: number): Shape => shapeOf(work.sheet, point, um, 500 * graduationMm(work.indicator!));

function sizeText(indicator: Indicator, um: number): string {
  return lengthIn(um / 1000, indicator.unit).toFixed(decimalsOf(indicator.graduation)).replace(/^-(?=[0.]*$)/, "");
}

const ARCS: Record<Shape, string> = {
  crown: "M2 13 Q22 -5 42 13", dish: "M2 3 Q22 21 42 3", flat: "M2 8 H42", up: "M22 15 V3 M14 9 L22 2 L30 9", down: "M22 1 V13 M14 7 L22 14 L30 7",
};

const arc = (shape: Shape): TemplateResult =>
  html`<svg class="arc" viewBox="0 0 44 16" aria-hidden="true"><path d=${ARCS[shape]}/></svg>`;

const DOTS: Record<Lies, number> = { above: 4, "at the upper edge": 9, inside: 15, "at the lower edge": 21, below: 26 };

/** The band with the reading as a dot in, at or beyond it, and the same in words. */
export function expectedWords(b: Bench, compared: Compared): TemplateResult {
  const { low, high, unit, lies } = compared;
  return html`<span class="expected" data-expected=${lies}>
    <svg class="band" viewBox="0 0 18 30" aria-hidden="true"><path d="M1 9 H17 V21 H1 Z"/>${svg`<circle cx="9" cy=${DOTS[lies]} r="3.500"/>`}</svg>
    <span>${b.t.expected(dec(b, low), dec(b, high), unit)}: ${b.t.lies[lies]}</span></span>`;
}
