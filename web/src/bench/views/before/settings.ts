import { html } from "lit";
import type { TemplateResult } from "lit";

import type { Language } from "../../../shared/core/bench.ts";
import { LANGUAGE_NAMES } from "../../../shared/texts/index.ts";
import type { Bench } from "../context.ts";
import { when } from "../context.ts";
import { pageView } from "../frame.ts";

const LANGUAGES: Language[] = ["en", "de", "es"];
const HEAD_SHOWN = 12;
const CARD_MM = [85.6, 54] as const;
const PAGE_EDGES_PX = 48;
const STEP_PX_PER_MM = 0.05;

export function settingsView(b: Bench): TemplateResult {
  const { language, sound, pxPerMm } = b.state.settings;
  const body = html`<div class="settings">
    <section><h2>${b.t.language}</h2><div class="stack row">${LANGUAGES.map((one) => html`
      <button class="low-key" lang=${one} data-language=${one} aria-pressed=${language === one}
        @click=${() => b.act.settings({ language: one })}>${LANGUAGE_NAMES[one]}</button>`)}</div></section>
    <section><h2>${b.t.sound}</h2><div class="stack row">
      <button class="low-key" data-sound="on" aria-pressed=${sound} @click=${() => b.act.settings({ sound: true })}>${b.t.on}</button>
      <button class="low-key" data-sound="off" aria-pressed=${!sound} @click=${() => b.act.settings({ sound: false })}>${b.t.off}</button></div></section>
    <section><h2>${b.t.size}</h2><p>${b.t.sizeHelp} <span class="n">${pxPerMm.toFixed(2)} px/mm</span></p>
      <button class="low-key" data-card @click=${() => b.act.screen({ name: "card" })}>${b.t.calibrate}</button></section>
    <section class="facts"><p>${b.t.tabletId} ${b.state.tabletName ?? b.t.nameless} <span class="n">${b.state.tablet}</span></p>
      <p>${b.t.buildId} <span class="n">${b.state.build}</span></p>
      <p data-proven=${b.state.records.checkpoint?.seq ?? ""}>${provenWords(b)}</p></section>
  </div>`;
  const main = html`<a class="low-key" href="/recover" data-recover-link>${b.t.recover}</a>
    <a class="low-key" href="/" data-office>${b.t.office}</a>`;
  return pageView(b, { title: b.t.settingsTitle, body, main, back: () => b.act.home() });
}

/** The server's last signed word on its records, short enough to compare with the office's or a sheet's. */
function provenWords(b: Bench): string {
  const { checkpoint } = b.state.records;
  return checkpoint ? b.t.proven(checkpoint.seq, when(b, checkpoint.at), checkpoint.head.slice(0, HEAD_SHOWN)) : b.t.unproven;
}

/** A bank card has the same size everywhere; its outline calibrates the millimetre. */
export function cardView(b: Bench): TemplateResult {
  const { pxPerMm } = b.state.settings;
  const change = (by: number) => (): void =>
    b.act.settings({ pxPerMm: Math.round(Math.min(9, Math.max(2.5, pxPerMm + by)) * 100) / 100 });
  const upright = CARD_MM[0] * pxPerMm > innerWidth - PAGE_EDGES_PX;
  const [wide, high] = upright ? [CARD_MM[1], CARD_MM[0]] : CARD_MM;
  const body = html`<svg class="card-outline" width=${wide * pxPerMm} height=${high * pxPerMm} viewBox="0 0 ${wide} ${high}"
      role="img" aria-label="${wide} mm"><rect x="0.3" y="0.3" width=${wide - 0.6} height=${high - 0.6} rx="3.2"/></svg>
    <div class="stack row"><button class="low-key" data-smaller @click=${change(-STEP_PX_PER_MM)}>${b.t.smaller}</button>
      <button class="low-key" data-larger @click=${change(STEP_PX_PER_MM)}>${b.t.larger}</button></div>`;
  const main = html`<button class="main" data-main @click=${() => b.act.screen({ name: "settings" })}>${b.t.cardDone}</button>`;
  return pageView(b, { title: b.t.cardTitle, help: upright ? b.t.cardHelpUpright : b.t.cardHelp, body, main });
}
