import { html, nothing } from "lit";
import type { TemplateResult } from "lit";

import type { EnrolTrouble } from "../../../shared/core/bench.ts";
import { CODE_KEYS, CODE_LENGTH, codeShown } from "../../../shared/core/enrol.ts";
import { backFace } from "../../ui/keypad.ts";
import type { Bench } from "../context.ts";
import { pageView } from "../frame.ts";

/** One thing to do: type the code that a lead has made. */
export function enrolView(b: Bench): TemplateResult {
  const { shop, secure } = b.state;
  if (!secure) return pageView(b, { title: b.t.enrolTitle, body: html`<p class="big rust" data-insecure>▲ ${b.t.enrolInsecure(location.host)}</p>` });
  const { code, asking, trouble } = b.state.enrolling;
  const body = html`
    ${trouble ? html`<p class="said rust" role="alert" data-enrol-trouble=${trouble.kind}>▲ ${troubleWords(b, trouble)}</p>` : nothing}
    <div class=${`display code ${b.state.wrongKey % 2 ? "flash-a" : "flash-b"}`}>
      <b data-display role="status" aria-label=${b.t.enrolTyped(code)}>${codeShown(code)}</b>
      <button class="key" data-key="back" aria-label=${b.t.enrolBack} ?disabled=${asking} @click=${() => b.act.enrolKey("back")}>${backFace}</button></div>
    <div class="code-keys">${[...CODE_KEYS].map((key) => html`
      <button class="key" data-key=${key} ?disabled=${asking} @click=${() => b.act.enrolKey(key)}>${key}</button>`)}</div>`;
  const main = html`${b.state.camera ? html`<button class="low-key" data-scan @click=${() => b.act.scanCode()}>${b.t.scan}</button>` : nothing}
    ${shop ? nothing : html`<button class="low-key" data-settings @click=${() => b.act.screen({ name: "settings" })}>${b.t.settings}</button>`}
    <button class="main" data-main ?disabled=${asking || code.length < CODE_LENGTH} @click=${() => b.act.enrol()}>
      ${asking ? b.t.enrolAsking : b.t.enrolDo}</button>`;
  const help = b.state.records.standing === "in use" ? b.t.enrolHelp : b.t.enrolAnewHelp;
  return pageView(b, { title: b.t.enrolTitle, help, body, main, ...(shop ? { back: () => b.act.home() } : {}) });
}

function troubleWords(b: Bench, trouble: EnrolTrouble): string {
  switch (trouble.kind) {
    case "unknown":
      return b.t.enrolUnknown;
    case "too many":
      return b.t.enrolTooMany(Math.max(1, Math.ceil((trouble.waitS ?? 600) / 60)));
    case "unreached":
      return b.t.enrolUnreached;
    case "unsent":
      return b.t.enrolUnsent(trouble.count);
    case "other":
      return trouble.message;
  }
}
