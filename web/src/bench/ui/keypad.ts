import { html, nothing, svg } from "lit";
import type { TemplateResult } from "lit";

export interface KeyWords { back: string; enter: string; sign: string; clear?: string }

export interface KeypadLook {
  unit: string; sign: boolean; words: KeyWords; ready: boolean; press: (key: string) => void; enter: TemplateResult | null;
}

const ROWS = [["7", "8", "9"], ["4", "5", "6"], ["1", "2", "3"]];

export const backFace = html`<svg class="back-face" viewBox="0 0 40 28" aria-hidden="true">${svg`<path d="M13 2 H38 V26 H13 L2 14 Z"/><path d="M19 8.500 L31 19.500 M31 8.500 L19 19.500"/>`}</svg>`;

/** Only the keys that are legal for this number; the unit stands in the key row and is no key. */
export function keypad(look: KeypadLook): TemplateResult {
  const key = (name: string, face: string | TemplateResult, label: string) =>
    html`<button class="key" data-key=${name} aria-label=${label} @click=${() => look.press(name)}>${face}</button>`;
  const side = [
    key("back", backFace, look.words.back),
    look.sign ? key("sign", "+/\u2212", look.words.sign) : html`<span class="key none"></span>`,
    html`<span class="key unit">${look.unit}</span>`,
  ];
  return html`<div class="keypad">
    ${ROWS.map((row, i) => html`${row.map((digit) => key(digit, digit, digit))}${side[i] ?? nothing}`)}
    ${key("0", "0", "0")}
    ${look.enter ?? html`<button class="key main enter" data-key="enter" data-main ?disabled=${!look.ready}
      @click=${() => look.press("enter")}>${look.words.enter}</button>`}
  </div>`;
}
