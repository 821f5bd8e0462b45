/** Where the bench is put together: the only file that sees every layer. */

import { render } from "lit";

import type { Acts, BenchState, Language, Settings } from "../shared/core/bench.ts";
import type { Remembered } from "../shared/core/sync.ts";
import { TEXTS } from "../shared/texts/index.ts";
import { Desk } from "./actions/desk.ts";
import { NumberDesk } from "./actions/numbers.ts";
import { openingActs } from "./actions/opening.ts";
import { changeSettings, comeBack, openPanel, others, withSheetsInUse } from "./actions/settling.ts";
import { signingActs } from "./actions/signing.ts";
import { stepActs } from "./actions/steps.ts";
import { Driver } from "./net/driver.ts";
import { sealPin } from "./net/seal.ts";
import { keepShell } from "./net/worker.ts";
import type { OwnRow } from "./store/db.ts";
import { loadSettings } from "./store/drafts.ts";
import { Log } from "./store/log.ts";
import { canScan } from "./ui/camera.ts";
import { scanBox } from "./ui/camera-box.ts";
import { Guard } from "./ui/guard.ts";
import { Sound } from "./ui/sound.ts";
import { Wake } from "./ui/wake.ts";
import { catchKeys, padKeyName } from "./ui/wedge.ts";
import { screenKey, screenView } from "./views/screens.ts";

declare const __BUILD__: string;

const language = (): Language => {
  const short = navigator.language.slice(0, 2);
  return short === "de" || short === "es" ? short : "en";
};

const SETTINGS: Settings = { language: language(), sound: true, pxPerMm: 5.2, turn: 0 };

const state: BenchState = {
  screen: { name: "starting" }, shop: null, setups: new Map(), verdicts: new Map(), person: null, judge: null,
  judgement: { choice: null }, goTo: null, pad: null, words: "", said: null, trouble: null, busy: false, paper: false,
  records: { kept: 0, setAside: 0, reached: null, complaint: null }, settings: SETTINGS, tablet: "", build: __BUILD__,
  nowMs: Date.now(), awake: null, secure: isSecureContext, camera: canScan(), update: false, wrongKey: 0,
};

const root = document.getElementById("bench")!;
const guard = new Guard(root);
const sound = new Sound();
const wake = new Wake((awake) => desk.update({ awake }));
const clock = { now: () => Date.now(), elapsed: () => performance.now() };
const random = (count: number): Uint8Array => crypto.getRandomValues(new Uint8Array(count));
const log = new Log(clock, random, __BUILD__);

let drawing = false;
const redraw = (): void => {
  if (drawing) return;
  drawing = true;
  queueMicrotask(draw);
};

function draw(): void {
  drawing = false;
  const { settings, screen } = state;
  const bench = { state, act: acts, t: TEXTS[settings.language] };
  document.documentElement.lang = settings.language;
  document.documentElement.style.setProperty("--mm", `${settings.pxPerMm}px`);
  sound.on = settings.sound;
  wake.want(screen.name === "work");
  render(screenView(bench), root);
  guard.changed(screenKey(bench));
}

const desk = new Desk(state, log, sound, redraw);
const opening = openingActs(desk);
const numbers = new NumberDesk(desk);
let takeNewVersion = (): void => location.reload();

const acts: Acts = {
  ...opening,
  ...numbers.acts(),
  ...stepActs(desk, opening.home),
  ...signingActs(desk, sealPin),
  scanPlate: () => void scanBox(TEXTS[state.settings.language].stopScan).then((raw) => raw && opening.openPlate(raw)),
  panel: (panel) => openPanel(desk, panel),
  turnPlan: () => changeSettings(desk, { turn: ((state.settings.turn + 1) % 4) as Settings["turn"] }),
  settings: (change) => changeSettings(desk, change),
  screen: (screen) => desk.update({ screen }),
  paper: (paper) => desk.update({ paper }),
  reload: () => takeNewVersion(),
  dismiss: () => desk.update({ trouble: null }),
};

catchKeys({
  listening: () => !guard.closed && (["plates", "badge"].includes(state.screen.name) || hasPad()),
  burst: (raw) => {
    if (state.screen.name === "plates") acts.openPlate(raw);
    else if (state.screen.name === "badge") acts.chooseBadge(raw);
    else numbers.burst(raw);
  },
  key: (key) => {
    const name = padKeyName(key);
    if (state.screen.name === "work" && name) acts.key(name);
  },
});

/** True on a screen with a keypad; elsewhere the keyboard does what the browser does. */
function hasPad(): boolean {
  return state.screen.name === "work" && root.querySelector("[data-key]") !== null;
}

/** One tab writes; a second one waits for the lock and says so. */
async function alone(): Promise<void> {
  if (!("locks" in navigator)) return;
  await new Promise<void>((go) => {
    const keep = (): Promise<void> => {
      go();
      return new Promise(() => undefined);
    };
    void navigator.locks.request("clampbook-bench", { ifAvailable: true }, (lock) => {
      if (lock) return keep();
      desk.update({ screen: { name: "second tab" } });
      void navigator.locks.request("clampbook-bench", keep);
      return undefined;
    });
  });
}

async function start(): Promise<void> {
  redraw();
  await alone();
  const tablet = await log.tablet();
  await log.purge();
  const [settings, shop, records, server, here] = await Promise.all([
    loadSettings(log), log.shop(), log.all(), log.server(), log.here(),
  ]);
  log.offsetMs = server.offsetMs;
  desk.load(records.own, records.others);
  for (const { event, verdict, reason } of records.verdicts) state.verdicts.set(event, { verdict, reason });
  desk.update({ tablet, shop, settings: settings ?? SETTINGS, records: { ...state.records, ...counts(records.own) } });
  const driver = connect(tablet, { ...server, ...sides(records.own) });
  await comeBack(desk, here);
  driver.start();
  void navigator.storage?.persist?.();
  keepShell((takeOver) => {
    takeNewVersion = takeOver;
    desk.update({ update: true });
  });
}

const sides = (own: readonly OwnRow[]): Pick<Remembered, "outbox" | "acknowledged"> => ({
  outbox: own.filter((row) => row.outcome === null).map((row) => row.n),
  acknowledged: own.filter((row) => row.outcome !== null).map((row) => row.n),
});

const counts = (own: readonly OwnRow[]): { kept: number; setAside: number } => ({
  kept: own.filter((row) => row.outcome === null).length,
  setAside: own.filter((row) => row.outcome === "set aside").length,
});

function connect(tablet: string, known: Remembered): Driver {
  const driver = new Driver(log, tablet, known, {
    marked: (marks) => {
      const aside = marks.filter((mark) => mark.outcome === "set aside").length;
      desk.marked(marks);
      desk.update({ records: { ...state.records, setAside: state.records.setAside + aside } });
    },
    restored: (resend, pullAgain) => {
      desk.restored(resend, pullAgain);
      desk.update();
    },
    pulled: (rows, verdicts) => others(desk, rows, verdicts),
    shop: (shop) => desk.update({ shop }),
    moved: ({ outbox, reached, complaint }) => desk.update({ records: { ...state.records, kept: outbox.length, reached, complaint } }),
    failed: (reason) => desk.fault(reason),
    merge: (shop) => withSheetsInUse(desk, shop),
  });
  desk.sync = driver;
  return driver;
}

start().catch((reason: unknown) => desk.fault(reason));
