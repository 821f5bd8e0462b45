import { html } from "lit";
import type { TemplateResult } from "lit";

import type { RulerMark } from "../../shared/core/work.ts";

const WIDTH = 1000;

/** Progress as a ruler: a tick a step, longer ones where another kind of work begins, a blue bar along the edge. */
export function ruler(marks: readonly RulerMark[], done: number, of: number, label: string): TemplateResult {
  const at = (step: number): number => (of === 0 ? 0 : (step / of) * WIDTH);
  const every = Math.max(1, Math.ceil(of / 90));
  const ticks = (long: boolean, height: number): string =>
    marks.filter((mark) => mark.long === long && (long || mark.at % every === 0)).map((mark) => `M${at(mark.at)} 20v-${height}`).join("");
  return html`<svg class="ruler" viewBox="-2 0 ${WIDTH + 4} 24" preserveAspectRatio="none" role="img" aria-label=${label}>
    <path class="long" d=${ticks(true, 17)}/><path class="short" d=${ticks(false, 8)}/>
    <path class="edge" d="M0 20 H${WIDTH}"/><rect class="bar" x="0" y="16" width=${at(done)} height="6"/>
  </svg>`;
}
