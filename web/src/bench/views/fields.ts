import { html } from "lit";
import type { TemplateResult } from "lit";
import { live } from "lit/directives/live.js";

import type { Bench } from "./context.ts";

/** A few words: ready-made ones as keys, or typed. */
export function reasonField(b: Bench, ready: readonly string[], label = b.t.reasonHelp): TemplateResult {
  return html`<div class="reason">
    <label for="reason">${label}</label>
    <div class="ready">${ready.map((words) => html`
      <button class="low-key" data-ready-reason=${words} aria-pressed=${b.state.words === words} @click=${() => b.act.words(words)}>${words}</button>`)}</div>
    <input id="reason" data-reason maxlength="400" autocomplete="off" .value=${live(b.state.words)}
      @input=${(event: InputEvent) => b.act.words((event.target as HTMLInputElement).value)}>
  </div>`;
}
