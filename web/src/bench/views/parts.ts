import { html, nothing } from "lit";
import type { TemplateResult } from "lit";

import type { Bench } from "./context.ts";

export const heading = (title: string, sub: string): TemplateResult =>
  html`<h1 tabindex="-1" data-heading>${title}${sub ? html`<small>${sub}</small>` : nothing}</h1>`;

export const bigNumber = (value: string, unit: string, more: string): TemplateResult =>
  html`<div class="num"><p class=${value.length > 4 ? "figure long" : "figure"}><b data-number>${value}</b><span data-unit>${unit}</span></p>${more ? html`<p>${more}</p>` : nothing}</div>`;

export const mainKey = (b: Bench, words: string, act: () => void): TemplateResult =>
  html`<button class="main" data-main ?disabled=${b.state.busy} @click=${act}>${words}</button>`;
