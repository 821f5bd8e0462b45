import type { Pad, Settings } from "../../shared/core/bench.ts";
import { ONE } from "./db.ts";
import type { Log } from "./log.ts";

export const draftKey = (setup: string, step: string): string => `${setup} ${step}`;

export async function saveDraft(log: Log, key: string, pad: Pad | null): Promise<void> {
  const db = await log.open();
  await (pad ? db.put("drafts", pad, key) : db.delete("drafts", key));
}

export async function loadDraft(log: Log, key: string): Promise<Pad | null> {
  return (await (await log.open()).get("drafts", key)) ?? null;
}

export async function saveSettings(log: Log, settings: Settings): Promise<void> {
  await (await log.open()).put("settings", settings, ONE);
}

export async function loadSettings(log: Log): Promise<Settings | null> {
  return (await (await log.open()).get("settings", ONE)) ?? null;
}
