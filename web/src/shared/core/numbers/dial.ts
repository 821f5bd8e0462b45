/** A dial face as its maker drew it: marks round the face, whole turns on the small hand. */

import { decimalsOf } from "./entry.ts";
import type { Indicator } from "../types.ts";

/** More turns than this are typed: nothing on a plate moves that far by clamping. */
const MOST_TURNS = 3;

export interface Face { marks: number; label: (mark: number) => string; turns: number[]; clockwisePlus: boolean }

export function faceOf(indicator: Indicator): Face {
  const marks = Math.round(indicator.per_turn / indicator.graduation);
  const decimals = decimalsOf(indicator.graduation);
  const most = Math.min(MOST_TURNS, Math.max(1, Math.floor(indicator.travel / indicator.per_turn)));
  const turns = Array.from({ length: 2 * most + 1 }, (_, i) => i - most);
  return { marks, label: (mark) => (mark * indicator.graduation).toFixed(decimals), turns, clockwisePlus: indicator.plus === "up" };
}

/** Reading from whole turns (signed, toward minus when negative) and the marks the pointer stands past them. */
export function dialValue(indicator: Indicator, turns: number, marks: number): string {
  const value = turns * indicator.per_turn + marks * indicator.graduation;
  const text = Math.abs(value).toFixed(decimalsOf(indicator.graduation));
  return value < 0 && !/^[0.]*$/.test(text) ? `-${text}` : text;
}

/** The mark nearest to a touch, in (-marks/2, marks/2]; `dx`, `dy` run from the centre, y down. */
export function markAt(dx: number, dy: number, face: Face): number {
  const share = Math.atan2(dx, -dy) / (2 * Math.PI);
  const mark = Math.round(share * face.marks) * (face.clockwisePlus ? 1 : -1);
  return mark <= -face.marks / 2 ? mark + face.marks : mark;
}

/** Direction of a mark from the centre, as a unit vector with y down. */
export function directionOf(mark: number, face: Face): [number, number] {
  const angle = (mark / face.marks) * 2 * Math.PI * (face.clockwisePlus ? 1 : -1);
  return [Math.sin(angle), -Math.cos(angle)];
}
