/** The plates as this tablet sees them: what the server said, brought forward by what was done here since. */

import type { BenchState, Kept } from "./bench.ts";
import type { Phase, Setup } from "./setup/state.ts";
import { phaseOf } from "./setup/state.ts";
import type { PlateInfo, Sheet } from "./types.ts";
import { setupOf } from "./work.ts";

type Known = Pick<BenchState, "setups" | "verdicts" | "shop">;

export interface PlateNow { info: PlateInfo; state: PlateInfo["state"]; setup: Setup | null; missing: boolean }

export const OVER: Phase[] = ["finished", "abandoned", "rejected"];
const STATE: Partial<Record<Phase, PlateInfo["state"]>> = { working: "being loaded", signed: "ready", "in machine": "in machine" };

export function plateNow(state: Known, info: PlateInfo): PlateNow {
  const mine = newest(state, info.serial);
  if (info.state === "held") return { info, state: "held", setup: null, missing: false };
  const stale = mine !== null && isOld(state, mine, info);
  if (mine && !stale && !OVER.includes(phaseOf(mine))) return { info, state: STATE[phaseOf(mine)]!, setup: mine, missing: false };
  if (mine && !stale && isNews(state, mine, info)) return { info, state: phaseOf(mine) === "rejected" ? "held" : "free", setup: null, missing: false };
  return { info, state: info.state, setup: null, missing: info.state !== "free" };
}

/** The server knows a newer setup of this plate than any that has reached this tablet; setup ids grow with time. */
const isOld = (state: Known, setup: Setup, info: PlateInfo): boolean =>
  info.last_setup !== null && setup.id < info.last_setup && state.setups.get(setup.id)!.every((kept) => kept.seq !== null);

/** The server's word on this setup is older than what this tablet holds. */
const isNews = (state: Known, setup: Setup, info: PlateInfo): boolean =>
  info.open_setup?.id === setup.id || state.setups.get(setup.id)!.some((kept) => kept.seq === null);

function newest(state: Known, serial: string): Setup | null {
  let found: Setup | null = null;
  for (const id of state.setups.keys()) {
    const setup = setupOf(state, id);
    if (setup?.opened?.["plate"] !== serial) continue;
    if (found === null || (setup.opened_at ?? "") > (found.opened_at ?? "")) found = setup;
  }
  return found;
}

export const sheetFor = (state: Pick<BenchState, "shop">, info: PlateInfo): Sheet | null =>
  state.shop?.sheets.find((sheet) => sheet.design === info.design && sheet.revision === info.revision) ?? null;

export interface Due {
  grease: boolean; greaseCount: number; greaseEvery: number | null;
  baseline: boolean; baselineCount: number; baselineEvery: number | null;
}

/** Grease and baseline by count of setups; setups done here that the server has not counted yet are added. */
export function dueOf(state: Known, info: PlateInfo, sheet: Sheet): Due {
  let greaseCount = info.setups_since_grease;
  let baselineCount = info.setups_since_baseline;
  for (const facts of uncounted(state, info.serial)) {
    greaseCount = facts.grease_due ? 0 : greaseCount + 1;
    baselineCount = facts.baseline_due ? 0 : baselineCount + 1;
  }
  const { grease_every: greaseEvery, baseline_every: baselineEvery } = sheet.care;
  return {
    grease: greaseEvery !== null && greaseCount >= greaseEvery, greaseCount, greaseEvery,
    baseline: baselineEvery !== null && baselineCount >= baselineEvery, baselineCount, baselineEvery,
  };
}

function uncounted(state: Known, serial: string): { grease_due: boolean; baseline_due: boolean }[] {
  const unsent = (kept: Kept[]): boolean => kept.some((one) => one.event.kind === "signed" && one.seq === null);
  return [...state.setups.values()]
    .filter((kept) => unsent(kept) && kept.some((one) => one.event.data["plate"] === serial))
    .map((kept) => kept.find((one) => one.event.kind === "setup opened")!.event.data["facts"]);
}

/** Clamps to touch a second time: a fifth of them, two at least. */
export const touchCount = (clamps: number): number => Math.min(clamps, Math.max(2, Math.ceil(clamps / 5)));

/** Setups of others that this tablet need not hold any longer: over, or followed by a newer one on the same plate. */
export function obsolete(state: Known, touched: ReadonlySet<string>): string[] {
  const plates = new Set([...touched].map((id) => setupOf(state, id)?.opened?.["plate"] as string | undefined));
  return [...state.setups.keys()].filter((id) => {
    const setup = setupOf(state, id);
    if (!setup?.opened || setup.plan.length === 0 || !plates.has(setup.opened["plate"])) return false;
    if (state.setups.get(id)!.some((kept) => kept.mine)) return false;
    const followed = newest(state, setup.opened["plate"])?.id !== id && phaseOf(setup) !== "working";
    return followed || OVER.includes(phaseOf(setup));
  });
}
