/** What happens to the screens when the shop, others' records or verdicts come in, and after a restart. */

import type { Panel, Settings } from "../../shared/core/bench.ts";
import { newPad } from "../../shared/core/numbers/pad.ts";
import { obsolete } from "../../shared/core/plates.ts";
import { phaseOf } from "../../shared/core/setup/state.ts";
import type { Verdict } from "../../shared/core/sync.ts";
import type { ShopData } from "../../shared/core/types.ts";
import { setupOf } from "../../shared/core/work.ts";
import type { Here, OtherRow } from "../store/db.ts";
import { saveSettings } from "../store/drafts.ts";
import type { Desk } from "./desk.ts";

/** Keep a sheet that a setup on this tablet was opened with, even when the server hands it out no longer. */
export function withSheetsInUse(desk: Desk, shop: ShopData): ShopData {
  const have = new Set(shop.sheets.map((sheet) => sheet.hash));
  const used = new Set([...desk.state.setups.values()].flatMap((kept) => kept.map((one) => one.event.data["revision_hash"])));
  const older = (desk.state.shop?.sheets ?? []).filter((sheet) => !have.has(sheet.hash) && used.has(sheet.hash));
  return { ...shop, sheets: [...shop.sheets, ...older] };
}

export function others(desk: Desk, rows: readonly OtherRow[], verdicts: readonly Verdict[]): void {
  desk.pulled(rows);
  for (const { event, verdict, reason } of verdicts) desk.state.verdicts.set(event, { verdict, reason });
  const gone = obsolete(desk.state, new Set(rows.map((row) => row.setup)));
  const seqs = gone.flatMap((id) => desk.state.setups.get(id)!.flatMap((kept) => (kept.seq === null ? [] : [kept.seq])));
  const here = desk.state.screen;
  for (const id of gone) if (!("setup" in here && here.setup === id)) desk.state.setups.delete(id);
  if (seqs.length > 0) void desk.log.forget(seqs).catch((reason: unknown) => desk.fault(reason));
  desk.update();
  void desk.recall();
}

/** A setup that was on the screen when the tablet stopped is paused, said so, and offered to go on with. */
export async function comeBack(desk: Desk, here: Here | null): Promise<void> {
  const setup = here && setupOf(desk.state, here.setup);
  if (!setup || phaseOf(setup) !== "working") return desk.update({ screen: { name: "plates" } });
  const mine = setup.owner_tablet === desk.state.tablet;
  desk.update({ person: here.person });
  if (mine && !setup.paused) await desk.write(here.setup, "paused", null, { reason: "tablet restarted" });
  desk.update({ screen: { name: "resume", setup: here.setup, person: here.person }, said: null });
}

export function openPanel(desk: Desk, panel: Panel | null): void {
  const { screen } = desk.state;
  if (screen.name !== "work") return;
  const step = desk.work()?.step?.id ?? "";
  const pad = panel?.name === "correct" ? newPad("correction", step) : null;
  desk.update({ screen: { ...screen, panel }, pad, words: "", judge: null });
  if (!panel) void desk.recall();
}

export function changeSettings(desk: Desk, change: Partial<Settings>): void {
  const settings = { ...desk.state.settings, ...change };
  desk.update({ settings });
  void saveSettings(desk.log, settings).catch((reason: unknown) => desk.fault(reason));
}
