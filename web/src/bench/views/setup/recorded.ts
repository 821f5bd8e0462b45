import { html, nothing } from "lit";
import type { TemplateResult } from "lit";

import type { Kept } from "../../../shared/core/bench.ts";
import { unitWord } from "../../../shared/core/units.ts";
import { comparedTo } from "../../../shared/core/setup/readings.ts";
import type { Work } from "../../../shared/core/work.ts";
import type { Bench } from "../context.ts";
import { dec, plus, subjectName, when } from "../context.ts";
import { heading } from "../parts.ts";
import { expectedWords } from "./bow.ts";

/** Every record of this setup, the latest first, with what may be done about it. */
export function recordedView(b: Bench, work: Work): TemplateResult {
  const kept = [...(b.state.setups.get(work.setup.id) ?? [])].reverse();
  return html`${heading(b.t.recordedTitle, work.plate)}
    <ol class="records-list" data-records-list tabindex="0">${kept.map((one) => row(b, work, one))}</ol>
    <div class="low">
      <button class="low-key" data-paper aria-pressed=${b.state.paper} @click=${() => b.act.paper(!b.state.paper)}>${b.t.paperMode}</button>
      <button class="low-key" data-back @click=${() => b.act.panel(null)}>${b.t.back}</button></div>`;
}

function row(b: Bench, work: Work, kept: Kept): TemplateResult {
  const { event } = kept;
  return html`<li data-event=${event.id} data-kind=${event.kind}>
    <span class="row-words"><b>${what(b, work, kept)}</b>
      <span>${event.person ?? ""} ${when(b, event.at)} · ${whereabouts(b, kept)}${kept.flags.length > 0 ? ` · ▲ ${b.t.flagged}` : ""}</span>${beside(b, work, event.id)}</span>
    ${action(b, work, kept)}</li>`;
}

const whereabouts = (b: Bench, { seq, aside }: Kept): string =>
  aside ? b.t.setAside(1) : seq === null ? b.t.onTablet : b.t.onServer;

function what(b: Bench, work: Work, { event }: Kept): string {
  const step = work.setup.plan.find((one) => one.id === event.step);
  const name = step?.subject ? `${subjectName(b, step.subject)}, ` : "";
  const data = event.data as { value?: string; unit?: string; set?: { value: string; unit: string }; text?: string; reason?: string; what?: string };
  const value = data.value !== undefined ? ` ${plus(b, data.value)} ${data.unit ?? ""}` : data.set ? ` ${dec(b, data.set.value)} ${unitWord(data.set.unit)}` : "";
  const words = event.kind === "trouble" ? b.t.troubles[data.what ?? ""] : data.text ?? data.reason;
  const known = step ? b.t.stepName[step.kind] : "";
  const verdict = work.setup.signatures.find((one) => one.event === event.id)?.verdict;
  if (verdict) return `${b.t.eventName[event.kind]}: ${b.t.verdictWord[verdict]}`;
  const kind = event.kind === "step done" && known ? `${known} ${b.t.eventName[event.kind]}` : b.t.eventName[event.kind];
  return `${name}${kind}${value}${words ? `: ${words}` : ""}${superseded(work, event.id) ? ` (${b.t.corrected})` : ""}`;
}

/** Beside the entry that counts, what was expected of it. */
function beside(b: Bench, work: Work, event: string): TemplateResult | typeof nothing {
  const reading = [...work.setup.readings.values()].find((one) => one.final?.event === event);
  const compared = reading ? comparedTo(work.setup, reading.final!, reading.step) : null;
  return compared ? expectedWords(b, compared) : nothing;
}

/** A later correction counts instead of this entry. */
const superseded = (work: Work, event: string): boolean =>
  [...work.setup.readings.values()].some((reading) => reading.entries.some((entry) => entry.corrects === event));

function action(b: Bench, work: Work, { event }: Kept): TemplateResult | typeof nothing {
  if (!work.mine || ["rejected", "abandoned"].includes(work.phase)) return nothing;
  const trouble = work.setup.troubles.find((one) => one.event === event.id);
  if (trouble?.open) return button(b, b.t.closeTrouble, "data-settle", event.id);
  const status = work.setup.steps.get(work.setup.stepOfEvent.get(event.id) ?? "");
  if (!status) return nothing;
  const reading = [...work.setup.readings.values()].find((one) => one.final?.event === event.id);
  if (reading) {
    return html`<button class="low-key" data-correct=${event.id} @click=${() => b.act.panel({ name: "correct", event: event.id })}>${b.t.correct}</button>`;
  }
  const counts = status.event === event.id && ["step done", "clamp tightened", "clamp moved on re-check"].includes(event.kind);
  return counts ? button(b, b.t.reopen, "data-undo", event.id) : nothing;
}

const button = (b: Bench, words: string, name: "data-settle" | "data-undo", event: string): TemplateResult =>
  name === "data-settle"
    ? html`<button class="low-key" data-settle=${event} @click=${() => b.act.panel({ name: "undo", event })}>${words}</button>`
    : html`<button class="low-key" data-undo=${event} @click=${() => b.act.panel({ name: "undo", event })}>${words}</button>`;
