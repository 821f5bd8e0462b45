/** The plate's plan as the operator stands: quarter turns of the drawing and of the words for places. */

import type { Place, Sheet } from "./types.ts";

export type Turn = 0 | 1 | 2 | 3;

export const MARGIN_MM = 14;

export interface Plan { width: number; height: number; transform: string; at(xMm: number, yMm: number): [number, number] }

/** Plan turned `turn` quarters clockwise; coordinates are those of an SVG with y down, margin included. */
export function planOf(plate: Sheet["plate"], turn: Turn): Plan {
  const across = plate.length_mm + 2 * MARGIN_MM;
  const deep = plate.width_mm + 2 * MARGIN_MM;
  const [width, height] = turn % 2 === 0 ? [across, deep] : [deep, across];
  const at = (xMm: number, yMm: number): [number, number] => {
    const u = xMm + MARGIN_MM;
    const v = plate.width_mm - yMm + MARGIN_MM;
    return turned(u, v, across, deep, turn);
  };
  return { width, height, transform: matrix(across, deep, turn), at };
}

function turned(u: number, v: number, across: number, deep: number, turn: Turn): [number, number] {
  switch (turn) {
    case 0: return [u, v];
    case 1: return [deep - v, u];
    case 2: return [across - u, deep - v];
    case 3: return [v, across - u];
  }
}

/** Takes the drawing's own coordinates (origin at the plate's corner) into the turned view. */
function matrix(across: number, deep: number, turn: Turn): string {
  const m = MARGIN_MM;
  switch (turn) {
    case 0: return `translate(${m} ${m})`;
    case 1: return `matrix(0 1 -1 0 ${deep - m} ${m})`;
    case 2: return `matrix(-1 0 0 -1 ${across - m} ${deep - m})`;
    case 3: return `matrix(0 -1 1 0 ${m} ${across - m})`;
  }
}

const ROWS = ["front", "middle", "back"] as const;
const COLUMNS = ["left", "middle", "right"] as const;

/** Where a place of the plate lies once the plan is turned. */
export function placeSeen(place: Place, turn: Turn): Place {
  let x = COLUMNS.indexOf(place.column) - 1;
  let y = ROWS.indexOf(place.row) - 1;
  for (let i = 0; i < turn; i += 1) [x, y] = [y, -x];
  return { row: ROWS[y + 1]!, column: COLUMNS[x + 1]! };
}

/** "C5" is drawn and spoken as 5; any other name as it is. */
export const clampLabel = (id: string): string => /^C\d+$/.test(id) ? id.slice(1) : id;
