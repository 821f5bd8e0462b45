import { html, svg } from "lit";
import type { TemplateResult } from "lit";

import { directionOf, faceOf, markAt } from "../../shared/core/numbers/dial.ts";
import type { Indicator } from "../../shared/core/types.ts";

export interface DialLook {
  indicator: Indicator; turns: number | null; marks: number | null; decimal: (text: string) => string;
  words: { turns: string; pointer: string; mark: string; face: string };
  setTurns: (turns: number) => void; setMarks: (marks: number) => void;
}

/** Turns first, then the pointer: a touch on the face sets it near, the two keys move it mark by mark. */
export function dial(look: DialLook): TemplateResult {
  return look.turns === null ? turnsView(look) : pointerView(look, look.turns);
}

function turnsView(look: DialLook): TemplateResult {
  const { turns } = faceOf(look.indicator);
  return html`<div class="dial-turns"><p>${look.words.turns}</p><div class="turn-keys">
    ${turns.map((turn) => html`<button class="key" data-turns=${turn} @click=${() => look.setTurns(turn)}>
      ${turn > 0 ? `+${turn}` : look.decimal(String(turn))}</button>`)}
  </div></div>`;
}

function pointerView(look: DialLook, turns: number): TemplateResult {
  const face = faceOf(look.indicator);
  const pointer = look.marks ?? 0;
  const [px, py] = directionOf(pointer, face);
  const touch = (event: MouseEvent): void => {
    const box = (event.currentTarget as Element).getBoundingClientRect();
    look.setMarks(markAt(event.clientX - box.x - box.width / 2, event.clientY - box.y - box.height / 2, face));
  };
  return html`<div class="dial-pointer"><p>${look.words.pointer}</p>
    <div class="dial-row">
    <button class="key" data-mark="less" @click=${() => look.setMarks(pointer - 1)}><b>−</b>${look.words.mark}</button>
    <svg class="dial" viewBox="-110 -110 220 220" role="img" aria-label=${look.words.face} data-dial @click=${touch}>
      <circle class="rim" r="104"/>${scale(look)}
      <text class="turns" y="42">${turns > 0 ? `+${turns}` : look.decimal(String(turns))}</text>
      <path class=${look.marks === null ? "hand unset" : "hand"} d="M${-18 * px} ${-18 * py} L${82 * px} ${82 * py}"/><circle class="hub" r="6"/>
    </svg>
    <button class="key" data-mark="more" @click=${() => look.setMarks(pointer + 1)}><b>+</b>${look.words.mark}</button>
    </div></div>`;
}

/** Marks with numbers both ways from zero, as on a face that reads plus and minus. */
function scale(look: DialLook) {
  const face = faceOf(look.indicator);
  const half = Math.floor(face.marks / 2);
  const long = face.marks % 10 === 0 ? face.marks / 10 : 5;
  const marks = Array.from({ length: face.marks }, (_, i) => i - half);
  return marks.map((mark) => {
    const [x, y] = directionOf(mark, face);
    const numbered = mark % long === 0;
    const inner = numbered ? 86 : mark % Math.max(1, long / 2) === 0 ? 91 : 95;
    return svg`<path class="tick" d="M${x * inner} ${y * inner} L${x * 101} ${y * 101}"/>
      ${numbered ? svg`<text x=${x * 73} y=${y * 73 + 4}>${Math.abs(mark)}</text>` : ""}`;
  });
}
