import { html } from "lit";
import type { TemplateResult } from "lit";

import { clampLabel } from "../../../shared/core/geometry.ts";
import { unjudged } from "../../../shared/core/setup/current.ts";
import { comparedTo } from "../../../shared/core/setup/readings.ts";
import { stepOf } from "../../../shared/core/setup/state.ts";
import type { Person } from "../../../shared/core/types.ts";
import type { Work } from "../../../shared/core/work.ts";
import type { Bench } from "../context.ts";
import { dec, num, plus } from "../context.ts";
import { reasonField } from "../fields.ts";
import { heading, mainKey } from "../parts.ts";
import { badges, workers } from "../before/people.ts";

const CHOICES = ["accept", "rework", "reject"] as const;

export const judges = (b: Bench): Person[] => workers(b).filter((person) => person.role !== "operator");

export function judgeView(b: Bench, work: Work): TemplateResult {
  const { judge, judgement } = b.state;
  const list = html`<ul class="due">${unjudged(work.setup).map((cause) => html`<li class="now">▲ ${causeWords(b, work, cause)}</li>`)}</ul>`;
  if (judge === null) {
    return html`${heading(b.t.judgeTitle, "")}<div class="middle">${list}<p class="big">${b.t.judgeWho}</p>
      ${badges(b, judges(b), null, (badge) => b.act.judgeAs(badge))}</div>`;
  }
  const { choice } = judgement;
  if (choice === null) {
    return html`${heading(b.t.judgeHow, judge)}<div class="middle">${list}<div class="stack">${CHOICES.map((one) => html`
      <button class="low-key" data-judge=${one} @click=${() => b.act.judgeHow(one)}>${b.t.judgement[one]}</button>`)}</div></div>`;
  }
  return html`${heading(b.t.judgement[choice]!, judge)}
    <div class="middle">${list}${reasonField(b, b.t.judgeReasons)}</div>
    <div class="low"><button class="low-key" data-back @click=${() => b.act.judgeHow(null)}>${b.t.back}</button></div>
    ${mainKey(b, b.t.judgeDo, () => b.act.judge())}`;
}

function causeWords(b: Bench, work: Work, cause: string): string {
  const [kind, ...rest] = cause.split(":");
  const { setup } = work;
  if (kind === "reading") {
    const reading = setup.readings.get(rest[0]!)!;
    const { low, high } = stepOf(setup, rest[0]!).limits!;
    const words = b.t.causeReading(reading.point, plus(b, reading.final!.value), reading.final!.unit, num(b, low), num(b, high));
    const compared = comparedTo(setup, reading.final!, reading.step);
    return compared ? `${words}; ${b.t.expected(dec(b, compared.low), dec(b, compared.high), compared.unit)}` : words;
  }
  if (kind === "touch") return b.t.causeTouch(clampLabel(stepOf(setup, rest[0]!).subject!.id));
  if (kind === "flag") return b.t.causeLock;
  const trouble = setup.troubles.find((one) => one.event === rest[0])!;
  return b.t.causeTrouble(b.t.troubles[trouble.what] ?? trouble.what, trouble.clamp ? clampLabel(trouble.clamp) : "");
}
