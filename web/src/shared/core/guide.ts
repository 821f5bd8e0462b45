/**
 * Forces and heights after a list of pulls, from the guide of the sheet.
 * The server computes the same (api/domain/analyses/guiding.py, tests/vectors/guide.json).
 */

import type { Guide } from "./types.ts";

export interface Pull { clamp: string; share: number }

/** Forces and spreads follow the guide's clamps, part forces its stations, heights its points. */
export interface Tightened { clampN: number[]; partN: number[]; spreadUm: number[]; heightUm: number[]; changeUm: number[] }

const STILL = 1e-12;
const AT_TARGET = 1e-12;
const CORNERS_PER_PART = 20;

/** The pulls followed corner by corner; null for a clamp the guide lacks and for numbers of no plate. */
export function tightenedBy(guide: Guide, pulls: readonly Pull[]): Tightened | null {
  const plate = new Plate(guide);
  return plate.pullAll(pulls) ? plate.tightened() : null;
}

export class Plate {
  private readonly guide: Guide;
  /** Force where a part is pressed, minus its gap where it is loose. */
  private signed: number[];
  private pressed: boolean[];
  private spreadUm: number[];
  private readonly parts: number[][];

  constructor(guide: Guide) {
    this.guide = guide;
    this.signed = guide.stations.map(() => 0);
    this.pressed = guide.stations.map(() => false);
    this.spreadUm = guide.clamps.map(() => 0);
    this.parts = guide.clamps.map((_, j) => guide.stations.flatMap((_part, i) => (guide.presses[i]![j]! > 0 ? [i] : [])));
  }

  copy(): Plate {
    const { signed, pressed, spreadUm } = this;
    return Object.assign(new Plate(this.guide), { signed: [...signed], pressed: [...pressed], spreadUm: [...spreadUm] });
  }

  /** One pull after the other; false when one cannot be followed. */
  pullAll(pulls: readonly Pull[]): boolean {
    return pulls.every(({ clamp, share }) => {
      const j = this.guide.clamps.indexOf(clamp);
      return j >= 0 && this.pull(j, share * this.guide.target_n[j]!);
    });
  }

  /** Turn clamp j until its force is the goal; a click wrench cannot lower one. False when that has no end. */
  private pull(j: number, goalN: number): boolean {
    for (let corner = 0; corner < CORNERS_PER_PART * (this.signed.length + 1); corner += 1) {
      const shortN = goalN - this.mean(j, this.forceN());
      if (shortN <= AT_TARGET * goalN) return true;
      if (!this.toCorner(j, shortN)) return false;
    }
    return false;
  }

  tightened(): Tightened {
    const partN = this.forceN();
    const changeUm = this.guide.bow_um_per_n.map((row) => dot(row, partN));
    return {
      clampN: this.parts.map((_, j) => this.mean(j, partN)), partN, spreadUm: this.spreadUm,
      heightUm: this.guide.start_um.map((um, p) => um + changeUm[p]!), changeUm,
    };
  }

  private forceN(): number[] {
    return this.signed.map((z, i) => (this.pressed[i] ? Math.max(z, 0) : 0));
  }

  private mean(j: number, values: readonly number[]): number {
    const parts = this.parts[j]!;
    return parts.reduce((sum, i) => sum + values[i]!, 0) / Math.max(1, parts.length);
  }

  /** On to where the goal is reached, or a part goes loose or is met. */
  private toCorner(j: number, shortN: number): boolean {
    const rate = this.rates(j);
    if (rate === null) return false;
    const gain = this.mean(j, rate.map((r, i) => (this.pressed[i] ? r : 0)));
    const { part, firstUm } = this.firstCorner(rate);
    const fullUm = gain > 0 ? shortN / gain : Infinity;
    const wayUm = Math.min(firstUm, fullUm);
    if (!Number.isFinite(wayUm)) return false;
    this.signed = this.signed.map((z, i) => z + wayUm * rate[i]!);
    this.spreadUm[j]! += wayUm;
    if (firstUm < fullUm) {
      this.signed[part] = 0;
      this.pressed[part] = !this.pressed[part];
    }
    return true;
  }

  /** Change of every part's signed state per micrometre of the clamp's spread. */
  private rates(j: number): number[] | null {
    const { flexibility_um_per_n: flexibility, presses } = this.guide;
    const inside = this.pressed.flatMap((on, i) => (on ? [i] : []));
    const found = solve(inside.map((i) => [...inside.map((k) => flexibility[i]![k]!), presses[i]![j]!]));
    if (found === null) return null;
    return presses.map((row, i) => {
      const at = inside.indexOf(i);
      return at >= 0 ? found[at]! : row[j]! - inside.reduce((sum, k, n) => sum + flexibility[i]![k]! * found[n]!, 0);
    });
  }

  private firstCorner(rate: readonly number[]): { part: number; firstUm: number } {
    let [part, firstUm] = [-1, Infinity];
    rate.forEach((r, i) => {
      const crosses = this.pressed[i] ? r < -STILL / this.guide.flexibility_um_per_n[i]![i]! : r > STILL;
      const wayUm = Math.max(-this.signed[i]! / r, 0);
      if (crosses && wayUm < firstUm) [part, firstUm] = [i, wayUm];
    });
    return { part, firstUm };
  }
}

const dot = (one: readonly number[], other: readonly number[]): number => one.reduce((sum, value, i) => sum + value * other[i]!, 0);

/** Elimination on rows with their right side appended; null when the matrix is not positive definite. */
function solve(rows: number[][]): number[] | null {
  for (const [k, pivot] of rows.entries()) {
    if (!(pivot[k]! > 0)) return null;
    for (let i = k + 1; i < rows.length; i += 1) {
      const factor = rows[i]![k]! / pivot[k]!;
      rows[i] = rows[i]!.map((value, at) => value - factor * pivot[at]!);
    }
  }
  const found = rows.map(() => 0);
  for (let k = rows.length - 1; k >= 0; k -= 1) {
    const row = rows[k]!;
    found[k] = (row[rows.length]! - dot(row.slice(k + 1, rows.length), found.slice(k + 1))) / row[k]!;
  }
  return found;
}
