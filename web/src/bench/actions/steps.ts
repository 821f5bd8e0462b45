import type { Acts } from "../../shared/core/bench.ts";
import { settingText } from "../../shared/core/choice.ts";
import type { Data } from "../../shared/core/events.ts";
import { validSignatures } from "../../shared/core/setup/state.ts";
import type { Step } from "../../shared/core/types.ts";
import type { Work } from "../../shared/core/work.ts";
import type { Desk } from "./desk.ts";

type Steps = Pick<
  Acts, "done" | "tightened" | "moved" | "trouble" | "closeTrouble" | "note" | "pause" | "abandon" | "goTo" | "settle"
  | "judgeAs" | "judgeHow" | "judge" | "undo"
>;

export function stepActs(desk: Desk, home: () => void): Steps {
  return {
    done: (extra) => void done(desk, extra ?? {}),
    tightened: () => void tightened(desk),
    moved: () => void moved(desk),
    trouble: (what) => void trouble(desk, what),
    closeTrouble: (event) => void closeTrouble(desk, event),
    note: () => void note(desk),
    pause: (reason) => void leave(desk, "paused", { reason }, home),
    abandon: () => {
      if (enough(desk)) void leave(desk, "abandoned", { reason: desk.state.words.trim() }, home);
    },
    goTo: (step) => {
      desk.update({ goTo: step, pad: null });
      void desk.recall();
    },
    settle: (step, keep) => void settle(desk, step, keep),
    judgeAs: (badge) => desk.update({ judge: badge }),
    judgeHow: (choice) => desk.update({ judgement: { choice } }),
    judge: () => void judge(desk),
    undo: (event) => void undo(desk, event),
  };
}

/** Write about the step on the screen, then put away what was typed and look for the next step's draft. */
export async function record(desk: Desk, kind: Parameters<Desk["write"]>[1], data: Data, person?: string): Promise<boolean> {
  const { screen } = desk.state;
  const step = desk.work()?.step;
  if (screen.name !== "work" || !step) return false;
  const event = await desk.write(screen.setup, kind, step.id, data, person ?? desk.state.person);
  if (!event) return false;
  desk.update({ pad: null, words: "", judge: null, judgement: { choice: null }, screen: { ...screen, panel: null } });
  await desk.recall();
  return true;
}

async function done(desk: Desk, extra: Data): Promise<void> {
  const work = desk.work();
  if (work?.step) await record(desk, "step done", { ...dataFor(work, work.step), ...extra });
}

function dataFor(work: Work, step: Step): Data {
  switch (step.kind) {
    case "load":
      return { down: true };
    case "grease":
      return { grease: work.sheet.clamps.find((clamp) => clamp.id === step.subject?.id)?.grease ?? "" };
    case "recheck": case "touch":
      return { moved: false, tool: work.tool?.serial ?? "" };
    case "zero":
      return { indicator: work.indicator?.serial ?? "" };
    default:
      return {};
  }
}

function setting(work: Work, step: Step): { value: string; unit: string } {
  return { value: settingText(work.tool!, step.target!.value), unit: work.tool!.unit };
}

const AFTER = { click: "clicked", slip: "slipped", reading: "read" } as const;

async function tightened(desk: Desk): Promise<void> {
  const work = desk.work();
  if (!work?.step?.target || !work.tool) return;
  const { step, tool } = work;
  await record(desk, "clamp tightened", {
    clamp: step.subject!.id, pass: step.pass ?? 1, set: setting(work, step), tool: tool.serial, after: AFTER[tool.kind],
  });
}

async function moved(desk: Desk): Promise<void> {
  const work = desk.work();
  if (!work?.step?.target || !work.tool) return;
  const { step, tool } = work;
  await record(desk, "clamp moved on re-check", { clamp: step.subject!.id, tool: tool.serial, set: setting(work, step) });
}

async function trouble(desk: Desk, what: string): Promise<void> {
  const { subject } = desk.work()?.step ?? {};
  const text = desk.state.words.trim();
  const clamp = subject?.type === "clamp" ? { clamp: subject.id } : {};
  await record(desk, "trouble", { what, ...(text ? { text } : {}), ...clamp });
  desk.update({ goTo: null });
}

async function closeTrouble(desk: Desk, event: string): Promise<void> {
  const { screen, words } = desk.state;
  if (screen.name !== "work" || !enough(desk)) return;
  if (await desk.write(screen.setup, ...late(desk, "note", { text: words.trim(), closes: event }))) putAway(desk);
}

async function note(desk: Desk): Promise<void> {
  const { screen, words } = desk.state;
  if (screen.name !== "work" || !enough(desk)) return;
  if (await desk.write(screen.setup, ...late(desk, "note", { text: words.trim() }))) putAway(desk);
}

async function undo(desk: Desk, refers: string): Promise<void> {
  const { screen, words } = desk.state;
  if (screen.name !== "work" || !enough(desk)) return;
  const data = { refers, reason: words.trim(), undo: true };
  if (await desk.write(screen.setup, ...late(desk, "correction", data))) putAway(desk);
}

/** Before a signature a record as it is; after one, an addition that asks for a new signature. */
export function late(desk: Desk, kind: "note" | "correction", data: Data): ["note" | "correction" | "after-signature addition", string | null, Data] {
  const work = desk.work();
  const signed = work !== null && validSignatures(work.setup).length > 0;
  return signed ? ["after-signature addition", null, { adds: kind, ...data }] : [kind, null, data];
}

function putAway(desk: Desk): void {
  const { screen } = desk.state;
  if (screen.name === "work") desk.update({ screen: { ...screen, panel: null }, words: "", pad: null });
  void desk.recall();
}

/** A reason of three letters at least; the server takes no shorter one. */
export function enough(desk: Desk): boolean {
  if (desk.state.words.trim().length >= 3) return true;
  desk.signals.wrong();
  desk.update({ wrongKey: desk.state.wrongKey + 1 });
  return false;
}

async function leave(desk: Desk, kind: "paused" | "abandoned", data: Data, home: () => void): Promise<void> {
  const { screen } = desk.state;
  if (screen.name === "work" && (await desk.write(screen.setup, kind, desk.work()?.step?.id ?? null, data))) home();
}

async function settle(desk: Desk, step: string, keep: string): Promise<void> {
  const { screen, words } = desk.state;
  if (screen.name !== "work" || !enough(desk)) return;
  if (await desk.write(screen.setup, "conflict resolved", null, { step, keep, reason: words.trim() })) putAway(desk);
}

async function judge(desk: Desk): Promise<void> {
  const { judge: badge, judgement, words } = desk.state;
  if (badge === null || judgement.choice === null || !enough(desk)) return;
  await record(desk, "judged", { judgement: judgement.choice, reason: words.trim() }, badge);
}
