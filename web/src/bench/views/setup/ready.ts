import { html, nothing } from "lit";
import type { TemplateResult } from "lit";

import { isConfirmed } from "../../../shared/core/setup/state.ts";
import type { Signature } from "../../../shared/core/setup/state.ts";
import type { Work } from "../../../shared/core/work.ts";
import type { Bench } from "../context.ts";
import { heading, mainKey } from "../parts.ts";

/** The plate is signed and ready; the next thing to do with it is to put it into the machine. */
export function readyView(b: Bench, work: Work): TemplateResult {
  const signatures = work.setup.signatures.filter((one) => one.verdict !== "refused");
  const [, hint, main] = b.t.machine as [string, string, string];
  const title = isConfirmed(work.setup) ? b.t.readyTitle(work.plate) : b.t.readyUnchecked(work.plate);
  return html`${heading(title, work.sheet.title)}
    <div class="middle plain" data-ready>
      <ul class="sums">${signatures.map((one) => html`<li data-verdict=${one.verdict}>${signatureWords(b, one)}</li>`)}</ul>
      ${b.state.setups.get(work.setup.id)!.some((one) => one.seq === null && !one.aside) ? html`<p>${b.t.kept(b.state.records.kept)}</p>` : nothing}
      <p class="hint">${hint}</p>
    </div>
    <div class="low">
      <button class="low-key" data-home @click=${() => b.act.home()}>${b.t.toPlates}</button>
      <button class="low-key" data-countersign @click=${() => b.act.panel({ name: "countersign" })}>${b.t.secondSignature}</button>
    </div>
    ${mainKey(b, main, () => b.act.done())}`;
}

function signatureWords(b: Bench, signature: Signature): string {
  const who = signature.counter ? b.t.checkMeaning(signature.person ?? "") : b.t.signedBy(signature.person ?? "");
  return `${who}. ${signature.verdict === "confirmed" ? b.t.confirmed : b.t.provisional}`;
}

