import { html, nothing, svg } from "lit";
import type { SVGTemplateResult, TemplateResult } from "lit";

import { MARGIN_MM, clampLabel, planOf } from "../../shared/core/geometry.ts";
import type { Plan, Turn } from "../../shared/core/geometry.ts";
import type { Sheet, Subject } from "../../shared/core/types.ts";

export type ClampMark = "now" | "next" | "done" | "moved" | "open" | "trouble";

export interface PlanMarks {
  clamps: ReadonlyMap<string, ClampMark>;
  subject: Subject | null;
  troubleWord: string;
}

/** The plate to scale with what is to be done marked on it. */
export function planView(sheet: Sheet, turn: Turn, marks: PlanMarks | null, label: string, slot = "work"): TemplateResult {
  const plan = planOf(sheet.plate, turn);
  return html`<svg class="plate-plan" viewBox="0 0 ${plan.width} ${plan.height}" role="img" aria-label=${label}>
    <g transform=${plan.transform}>${baseDrawing(sheet, slot)}</g>
    ${marks ? overlay(sheet, plan, marks) : nothing}
  </svg>`;
}

const drawings = new Map<string, Element>();

/** The design's own drawing, parsed once for each place it is shown in; the same node is handed out again. */
function baseDrawing(sheet: Sheet, slot: string): Element {
  const key = `${sheet.hash} ${slot}`;
  const known = drawings.get(key);
  if (known) return known;
  const parsed = new DOMParser().parseFromString(sheet.drawing, "image/svg+xml").documentElement;
  const group = document.createElementNS("http://www.w3.org/2000/svg", "g");
  if (parsed.localName === "svg") group.append(...[...parsed.children].map((part) => document.importNode(part, true)));
  drawings.set(key, group);
  return group;
}

function overlay(sheet: Sheet, plan: Plan, marks: PlanMarks): SVGTemplateResult {
  const radius = radiusOf(sheet);
  const clamps = sheet.clamps.map((clamp) => {
    const [x, y] = plan.at(clamp.x_mm, clamp.y_mm);
    return clampMark(x, y, radius, marks.clamps.get(clamp.id) ?? "open", clampLabel(clamp.id), marks.troubleWord);
  });
  const points = sheet.points.map((point) => {
    const [x, y] = plan.at(point.x_mm, point.y_mm);
    const now = marks.subject?.type === "point" && marks.subject.id === point.id;
    return pointMark(x, y, radius * 0.62, point.id, now);
  });
  return svg`${clamps}${points}${spot(sheet, plan, marks.subject, radius)}`;
}

/** Circles as large as the closest pair of clamps allows. */
function radiusOf(sheet: Sheet): number {
  const usual = Math.max(sheet.plate.length_mm, sheet.plate.width_mm) * 0.034;
  const gaps = sheet.clamps.flatMap((a, i) => sheet.clamps.slice(i + 1).map((b) => Math.hypot(a.x_mm - b.x_mm, a.y_mm - b.y_mm)));
  return Math.min(usual, ...gaps.map((gap) => gap / 2.9));
}

function clampMark(x: number, y: number, r: number, mark: ClampMark, label: string, word: string): SVGTemplateResult {
  const at = `translate(${x} ${y}) scale(${r / 15})`;
  switch (mark) {
    case "now":
      return svg`<g class="mark now" transform=${at}><circle class="ring" r="22"/><circle r="16"/><text y="6">${label}</text></g>`;
    case "done":
      return svg`<g class="mark done" transform=${at}><circle r="15"/><path d="M-6.500 0.500 l4.500 5.500 l8.500 -11"/></g>`;
    case "moved":
      return svg`<g class="mark done" transform=${at}><circle r="15"/><path d="M-7 3 a7.500 7.500 0 1 1 4 4.500"/><path d="M-9.500 -1 L-7 3.500 L-2.500 1.500"/></g>`;
    case "trouble":
      return svg`<g class="mark trouble" transform=${at}><path d="M0 -19 L19 14 H-19 Z"/><text y="9">${label}</text><text class="word" y="29">${word}</text></g>`;
    default:
      return svg`<g class="mark ${mark}" transform=${at}><circle r="15"/><text y="5.500">${label}</text></g>`;
  }
}

function pointMark(x: number, y: number, arm: number, id: string, now: boolean): SVGTemplateResult {
  const cross = `M${x - arm} ${y} H${x + arm} M${x} ${y - arm} V${y + arm}`;
  return svg`<g class="mark point ${now ? "now" : ""}">
    ${now ? svg`<circle class="ring" cx=${x} cy=${y} r=${arm * 1.9}/>` : nothing}
    <path d=${cross}/><text x=${x + arm * 0.5} y=${y - arm * 0.5} font-size=${arm * 1.5}>${id}</text></g>`;
}

/** A blue ring round the station, stop, receiver or face that the step is about. */
function spot(sheet: Sheet, plan: Plan, subject: Subject | null, radius: number): SVGTemplateResult | typeof nothing {
  if (!subject || subject.type === "clamp" || subject.type === "point") return nothing;
  if (subject.type === "plate") {
    const [width, height] = [plan.width - 2 * MARGIN_MM, plan.height - 2 * MARGIN_MM];
    return svg`<rect class="spot face" x=${MARGIN_MM} y=${MARGIN_MM} width=${width} height=${height} rx="2"/>`;
  }
  const pool = { station: sheet.stations, stop: sheet.stops, receiver: sheet.receivers, stud: sheet.receivers }[subject.type];
  const found = pool.find((one) => one.id === subject.id);
  if (!found) return nothing;
  const [x, y] = plan.at(found.x_mm, found.y_mm);
  return svg`<g class="spot" transform="translate(${x} ${y}) scale(${radius / 15})"><circle r="26"/><circle class="dot" r="14"/><text y="6">${found.id}</text></g>`;
}
