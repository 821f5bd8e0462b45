import type { Acts } from "../../shared/core/bench.ts";
import { indicatorRefusals, toolRefusals, torquesOf, widthsOf } from "../../shared/core/choice.ts";
import { dueOf, plateNow, sheetFor, touchCount } from "../../shared/core/plates.ts";
import type { PlateNow } from "../../shared/core/plates.ts";
import { phaseOf } from "../../shared/core/setup/state.ts";
import { draw, today, uuid7 } from "../../shared/core/time.ts";
import type { PlateInfo, Sheet } from "../../shared/core/types.ts";
import { serialIn } from "../../shared/core/numbers/wedge.ts";
import { setupOf } from "../../shared/core/work.ts";
import type { Desk } from "./desk.ts";

type Opening = Pick<
  Acts, "home" | "openPlate" | "chooseBadge" | "startWork" | "chooseTool" | "chooseIndicator" | "openSetup" | "goOn" | "takeOver"
>;

export function openingActs(desk: Desk): Opening {
  return {
    home: () => goHome(desk),
    openPlate: (text) => openPlate(desk, text),
    chooseBadge: (badge) => void chooseBadge(desk, badge),
    startWork: () => {
      const { screen } = desk.state;
      if (screen.name === "due") desk.update({ screen: { ...screen, name: "tools", tool: null, indicator: null } });
    },
    chooseTool: (serial) => chooseTool(desk, serial),
    chooseIndicator: (serial) => chooseIndicator(desk, serial),
    openSetup: () => void openSetup(desk),
    goOn: () => void goOn(desk),
    takeOver: () => void takeOver(desk),
  };
}

function goHome(desk: Desk): void {
  void desk.log.setHere(null).catch((reason: unknown) => desk.fault(reason));
  desk.update({ screen: { name: "plates" }, person: null, pad: null, goTo: null, said: null, words: "", judge: null, paper: false });
}

function find(desk: Desk, serial: string): PlateNow | null {
  const info = desk.state.shop?.plates.find((plate) => plate.serial.toUpperCase() === serial.toUpperCase());
  return info ? plateNow(desk.state, info) : null;
}

function openPlate(desk: Desk, text: string): void {
  const serial = serialIn(text);
  const plate = find(desk, serial);
  const started = plate?.setup ?? null;
  const may = started !== null || desk.state.records.standing !== "revoked";
  const held = plate && (plate.state === "held" || plate.missing || !may || !(started || sheetFor(desk.state, plate.info)));
  if (!plate || held) {
    desk.signals.wrong();
    desk.update({ words: serial, wrongKey: desk.state.wrongKey + 1 });
    return;
  }
  const screen = { name: "badge" as const, plate: plate.info.serial, setup: plate.setup?.id ?? null, wrong: null };
  desk.update({ screen, words: "", trouble: null });
}

async function chooseBadge(desk: Desk, text: string): Promise<void> {
  const { screen, shop } = desk.state;
  if (screen.name !== "badge") return;
  const badge = serialIn(text);
  const person = shop?.people.find((one) => one.badge === badge && one.active && one.role !== "auditor");
  if (!person) {
    desk.signals.wrong();
    desk.update({ screen: { ...screen, wrong: badge }, wrongKey: desk.state.wrongKey + 1 });
    return;
  }
  if (screen.setup === null) {
    desk.update({ person: person.badge, screen: { name: "due", plate: screen.plate, person: person.badge } });
    return;
  }
  desk.update({ person: person.badge });
  const setup = setupOf(desk.state, screen.setup);
  if (setup && phaseOf(setup) !== "working") await enter(desk, screen.setup, person.badge);
  else desk.update({ screen: { name: "resume", setup: screen.setup, person: person.badge } });
}

function plateAndSheet(desk: Desk, serial: string): { info: PlateInfo; sheet: Sheet } | null {
  const info = desk.state.shop?.plates.find((plate) => plate.serial === serial);
  const sheet = info && sheetFor(desk.state, info);
  return info && sheet ? { info, sheet } : null;
}

function chooseTool(desk: Desk, serial: string): void {
  const { screen, shop } = desk.state;
  if (screen.name !== "tools") return;
  const tool = shop?.tools.find((one) => one.serial === serial);
  const found = plateAndSheet(desk, screen.plate);
  const day = today(desk.log.serverNow());
  if (!tool || !found || toolRefusals(tool, torquesOf(found.sheet), day).length > 0) return desk.signals.wrong();
  desk.update({ screen: { ...screen, tool: serial } });
}

function chooseIndicator(desk: Desk, serial: string): void {
  const { screen, shop } = desk.state;
  if (screen.name !== "tools") return;
  const indicator = shop?.indicators.find((one) => one.serial === serial);
  const found = plateAndSheet(desk, screen.plate);
  const day = today(desk.log.serverNow());
  if (!indicator || !found || indicatorRefusals(indicator, widthsOf(found.sheet), day).length > 0) return desk.signals.wrong();
  desk.update({ screen: { ...screen, indicator: serial } });
}

async function openSetup(desk: Desk): Promise<void> {
  const { screen, shop } = desk.state;
  const found = screen.name === "tools" ? plateAndSheet(desk, screen.plate) : null;
  if (screen.name !== "tools" || !found || !shop) return;
  const { info, sheet } = found;
  const due = dueOf(desk.state, info, sheet);
  const id = uuid7(desk.log.clock.now(), desk.log.random);
  const data = {
    plate: info.serial, design: sheet.design, revision: sheet.revision, revision_hash: sheet.hash,
    facts: {
      grease_due: due.grease, baseline_due: due.baseline,
      second_touch: draw(sheet.order, touchCount(sheet.order.length), desk.log.random),
    },
    frozen: frozen(desk, sheet, screen.tool, screen.indicator),
    due: [...(due.grease ? ["grease"] : []), ...(due.baseline ? ["baseline"] : []), ...info.open_troubles.map((trouble) => trouble.what)],
  };
  if (await desk.write(id, "setup opened", null, data)) await enter(desk, id, screen.person);
}

function frozen(desk: Desk, sheet: Sheet, tool: string | null, indicator: string | null): Record<string, unknown> {
  const { tools, indicators, greases, specs } = desk.state.shop!;
  const usedGreases = new Set(sheet.clamps.map((clamp) => clamp.grease));
  const usedSpecs = new Set(sheet.clamps.map((clamp) => clamp.spec));
  return {
    tool: tools.find((one) => one.serial === tool) ?? {},
    indicator: indicators.find((one) => one.serial === indicator) ?? {},
    greases: greases.filter((one) => usedGreases.has(one.id)),
    specs: specs.filter((one) => usedSpecs.has(String(one["id"]))),
  };
}

export async function enter(desk: Desk, setup: string, person: string): Promise<void> {
  await desk.log.setHere({ setup, person }).catch((reason: unknown) => desk.fault(reason));
  desk.update({ screen: { name: "work", setup, panel: null }, person, pad: null, goTo: null, words: "", said: null });
  await desk.recall();
}

async function goOn(desk: Desk): Promise<void> {
  const { screen } = desk.state;
  const work = desk.work();
  if (screen.name !== "resume" || !work) return;
  const same = work.setup.owner_person === screen.person && work.setup.owner_tablet === desk.state.tablet;
  if (same) await enter(desk, screen.setup, screen.person);
  else await takeOver(desk);
}

async function takeOver(desk: Desk): Promise<void> {
  const { screen, person } = desk.state;
  const work = desk.work();
  if ((screen.name !== "resume" && screen.name !== "work") || !work || person === null) return;
  const { owner_person: from, owner_tablet: fromTablet } = work.setup;
  const event = await desk.write(screen.setup, "taken over", null, { from, from_tablet: fromTablet });
  const { said } = desk.state;
  if (!event) return;
  await enter(desk, screen.setup, person);
  desk.update({ said });
}
