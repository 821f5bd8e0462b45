import { html, nothing } from "lit";
import type { TemplateResult } from "lit";

import type { Person } from "../../../shared/core/types.ts";
import type { Bench } from "../context.ts";
import { pageView } from "../frame.ts";

/** Badges as large keys. */
export function badges(b: Bench, people: readonly Person[], chosen: string | null, choose: (badge: string) => void): TemplateResult {
  return html`<div class="badges">${people.map((person) => html`
    <button class="badge" data-badge=${person.badge} aria-pressed=${chosen === person.badge} @click=${() => choose(person.badge)}>
      <b>${person.badge}</b><span>${b.t.role[person.role]}</span></button>`)}</div>`;
}

export const workers = (b: Bench): Person[] =>
  (b.state.shop?.people ?? []).filter((person) => person.active && person.role !== "auditor");

export function badgeView(b: Bench): TemplateResult {
  const { screen } = b.state;
  const wrong = screen.name === "badge" ? screen.wrong : null;
  return pageView(b, {
    title: b.t.who, help: b.t.whoHelp, back: () => b.act.home(),
    body: html`${wrong ? html`<p class="said rust" role="alert">▲ ${b.t.wrongBadge(wrong)}</p>` : nothing}
      ${badges(b, workers(b), null, (badge) => b.act.chooseBadge(badge))}`,
  });
}
