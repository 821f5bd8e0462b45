/** The signature of a second person: asked for by the sheet, or given of one's own accord. */

import { html, nothing } from "lit";
import type { TemplateResult } from "lit";

import type { Person } from "../../../shared/core/types.ts";
import type { Work } from "../../../shared/core/work.ts";
import { badges } from "../before/people.ts";
import type { Bench } from "../context.ts";
import { heading } from "../parts.ts";
import { judges } from "./judge.ts";
import { pinPart } from "./sign.ts";

/** Whoever has tightened cannot be the one who checks. */
function checkers(b: Bench, work: Work): Person[] {
  const signed = work.setup.signatures.filter((one) => !one.counter && one.verdict !== "refused").map((one) => one.person);
  return judges(b).filter((one) => !signed.includes(one.badge));
}

export function countersignView(b: Bench, work: Work): TemplateResult {
  const { judge } = b.state;
  return html`${heading(b.t.secondSignature, judge ? b.t.checkMeaning(judge) : b.t.secondTitle)}
    <div class="middle">${judge ? nothing : badges(b, checkers(b, work), null, (badge) => b.act.countersignAs(badge))}</div>
    <div class="low"><button class="low-key" data-back @click=${() => b.act.panel(null)}>${b.t.back}</button></div>
    ${judge ? pinPart(b, "sign") : nothing}`;
}

/** Nothing else can be done with this plate before somebody else has signed. */
export function secondView(b: Bench, work: Work): TemplateResult {
  const refused = [...work.setup.signatures].reverse().find((one) => one.counter)?.verdict === "refused";
  const last = work.setup.signatures.at(-1);
  return html`${heading(b.t.secondWanted, b.t.secondWantedHelp)}
    ${refused && last ? html`<p class="said rust" role="alert" data-refused>▲ ${b.t.secondRefused(last.person ?? "")}</p>` : nothing}
    <div class="middle" data-second>${badges(b, checkers(b, work), null, (badge) => {
      b.act.panel({ name: "countersign" });
      b.act.countersignAs(badge);
    })}</div>
    <div class="low"><button class="low-key" data-home @click=${() => b.act.home()}>${b.t.toPlates}</button></div>`;
}
