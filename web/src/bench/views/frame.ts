import { html, nothing } from "lit";
import type { TemplateResult } from "lit";

import type { Work } from "../../shared/core/work.ts";
import { rulerOf } from "../../shared/core/work.ts";
import { ruler } from "../ui/ruler.ts";
import type { Bench } from "./context.ts";

/** The state of the records in words; it never says more than the server has answered. */
export function recordsLine(b: Bench): TemplateResult {
  const { kept, setAside, reached, refused, standing } = b.state.records;
  const unknown = refused || (b.state.screen.name === "enrol" && b.state.tabletName === null);
  const parts = unknown ? [b.t.notEnrolled] : kept === 0 ? [b.t.allOnServer] : [];
  if (kept > 0) parts.push(b.t.kept(kept));
  if (standing === "revoked") parts.push(b.t.revoked);
  if (setAside > 0) parts.push(b.t.setAside(setAside));
  if (reached === false) parts.push(b.t.unreached);
  return html`<span class="records" data-records data-kept=${kept} role="status">${parts.join(" · ")}</span>`;
}

export function topLine(b: Bench, work: Work | null, title: string): TemplateResult {
  return html`<header class="top">
    ${work ? progressLine(b, work) : html`<b>${title}</b>`}
    ${b.state.paper ? html`<span class="mode">${b.t.fromPaper}</span>` : nothing}
    ${recordsLine(b)}
  </header>`;
}

function progressLine(b: Bench, work: Work): TemplateResult {
  const { marks, done } = rulerOf(work.setup);
  const n = Math.min(work.done + 1, work.of);
  const left = work.secondsLeft === null || work.secondsLeft < 60 ? "" : `, ${b.t.minutesLeft(Math.round(work.secondsLeft / 60))}`;
  return html`<b class="plate-name" data-plate-name>${work.plate}</b><span class="rev">${b.t.revision(work.sheet.revision)}</span>
    ${ruler(marks, done, work.of, b.t.progress(work.done, work.of))}
    <span class="steps">${b.t.step(n, work.of)}${left}</span>`;
}

/** A fault, or what the server holds of this tablet, that must be seen whatever screen is on. */
export function notices(b: Bench): TemplateResult {
  return html`${faultNotice(b)}${standingNotice(b)}`;
}

function faultNotice(b: Bench): TemplateResult | typeof nothing {
  const { trouble } = b.state;
  if (trouble === null) return nothing;
  const words = FAULTS[trouble];
  const said = words ? b.t[words] : b.t.storageFault(trouble.replace(/^storage: /, ""));
  return html`<div class="notice" role="alert" data-fault><span>▲ ${said}</span>
    <button class="low-key" @click=${() => b.act.dismiss()}>${b.t.dismiss}</button></div>`;
}

const FAULTS: Partial<Record<string, "storageFull" | "storageNewer" | "storageOlder" | "sealFault">> = {
  full: "storageFull", newer: "storageNewer", older: "storageOlder", seal: "sealFault",
};

/** Work goes on in all three cases; what changes is where the records end up. */
function standingNotice(b: Bench): TemplateResult | typeof nothing {
  const { screen, records: { standing, refused } } = b.state;
  if (screen.name === "enrol") return nothing;
  const enrol = (words: string): TemplateResult =>
    html`<button class="low-key" data-enrol @click=${() => b.act.screen({ name: "enrol" })}>${words}</button>`;
  if (standing === "forked") return calm("forked", b.t.forked, enrol(b.t.enrolAnew));
  if (standing === "revoked") return calm("revoked", b.t.revokedHelp, nothing);
  return refused && screen.name !== "work" ? calm("refused", b.t.notEnrolledHelp, enrol(b.t.enrolDo)) : nothing;
}

const calm = (name: string, words: string, action: TemplateResult | typeof nothing): TemplateResult =>
  html`<div class="notice calm" role="status" data-standing=${name}><span>${words}</span>${action}</div>`;

export interface Page {
  title: string; help?: string; body: TemplateResult; main?: TemplateResult | typeof nothing; back?: () => void; step?: string;
}

/** A screen without a plan: heading, what there is to choose, one main action along the bottom edge. */
export function pageView(b: Bench, page: Page): TemplateResult {
  return html`${topLine(b, null, b.t.bench)}${notices(b)}
    <main class="page" data-screen=${b.state.screen.name}>
      <div class="page-head"><h1 tabindex="-1" data-heading>${page.title}</h1>${page.help ? html`<p class="help">${page.help}</p>` : nothing}</div>
      <div class="page-body">${page.body}</div>
      <div class="page-foot">
        ${page.back ? html`<button class="low-key" data-back @click=${page.back}>${b.t.back}</button>` : nothing}
        ${page.main ?? nothing}
      </div>
    </main>`;
}
