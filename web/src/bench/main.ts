/** Where the bench is put together: the only file that sees every layer. */

import { render } from "lit";

import type { Acts, BenchState, Language, Settings } from "../shared/core/bench.ts";
import { codeInAddress } from "../shared/core/enrol.ts";
import { OVER } from "../shared/core/plates.ts";
import { phaseOf } from "../shared/core/setup/state.ts";
import type { Remembered, SyncState } from "../shared/core/sync.ts";
import { setupOf } from "../shared/core/work.ts";
import { TEXTS } from "../shared/texts/index.ts";
import { Desk } from "./actions/desk.ts";
import { NumberDesk } from "./actions/numbers.ts";
import { NOTHING_TYPED, enrolActs } from "./actions/enrolling.ts";
import { openingActs } from "./actions/opening.ts";
import { changeSettings, comeBack, openPanel, others, withSheetsInUse } from "./actions/settling.ts";
import { signingActs } from "./actions/signing.ts";
import { stepActs } from "./actions/steps.ts";
import { Driver } from "./net/driver.ts";
import { canSign, makeIdentity } from "./net/keys.ts";
import { sealPin } from "./net/seal.ts";
import { enrol } from "./net/session.ts";
import { keepShell } from "./net/worker.ts";
import type { Identity, OwnRow } from "./store/db.ts";
import { loadSettings } from "./store/drafts.ts";
import { loadIdentity } from "./store/identity.ts";
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
  records: { kept: 0, setAside: 0, reached: null, complaint: null, refused: false, standing: "in use", checkpoint: null },
  enrolling: NOTHING_TYPED, tabletName: null, settings: SETTINGS, tablet: "", build: __BUILD__,
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
let identity: Identity | null = null;
let driver: Driver | null = null;
let takeNewVersion = (): void => location.reload();

const acts: Acts = {
  ...opening,
  ...numbers.acts(),
  ...stepActs(desk, opening.home),
  ...signingActs(desk, sealPin),
  ...enrolActs(desk, {
    ask: enrol, make: makeIdentity, identity: () => identity, renewed: () => location.replace("/bench"),
    entered: (known) => {
      identity = known;
      driver?.enrolled();
    },
  }),
  scanCode: () => void scanBox(TEXTS[state.settings.language].stopScan).then((raw) => raw && acts.enrolWith(raw)),
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
  listening: () => !guard.closed && (["plates", "badge", "enrol"].includes(state.screen.name) || hasPad()),
  burst: (raw) => {
    if (state.screen.name === "enrol") acts.enrolWith(raw);
    else if (state.screen.name === "plates") acts.openPlate(raw);
    else if (state.screen.name === "badge") acts.chooseBadge(raw);
    else numbers.burst(raw);
  },
  key: (key) => {
    if (state.screen.name === "enrol") return key === "enter" ? acts.enrol() : acts.enrolKey(key);
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

/** The code of a link; it leaves the address bar and the history at once. */
function codeOfLink(): string | null {
  const code = codeInAddress(location.href);
  if (code !== null || location.hash) history.replaceState(null, "", location.pathname + location.search);
  return code;
}

/** A link opened in the middle of work waits until the work is left. */
function offerCode(code: string | null): void {
  if (code !== null && state.screen.name !== "work") desk.update({ screen: { name: "enrol" }, enrolling: { ...NOTHING_TYPED, code } });
}

async function start(): Promise<void> {
  const code = codeOfLink();
  redraw();
  await alone();
  const tablet = await log.tablet();
  identity = canSign() ? await loadIdentity(log, makeIdentity) : null;
  const [settings, shop, records, server, here] = await Promise.all([
    loadSettings(log), log.shop(), log.all(), log.server(), log.here(),
  ]);
  log.offsetMs = server.offsetMs;
  desk.load(records.own, records.others);
  for (const { event, verdict, reason } of records.verdicts) state.verdicts.set(event, { verdict, reason });
  const { standing, checkpoint } = server;
  const about = { ...state.records, ...counts(records.own), standing, checkpoint };
  desk.update({ tablet, tabletName: identity?.enrolled?.name ?? null, shop, settings: settings ?? SETTINGS, records: about });
  driver = connect(tablet, { ...server, ...sides(records.own) });
  await comeBack(desk, here);
  if (state.trouble === "older") desk.update({ trouble: null });
  offerCode(code);
  addEventListener("hashchange", () => offerCode(codeOfLink()));
  if (code === null || identity?.enrolled) driver.start();
  void navigator.storage?.persist?.();
  keepShell((takeOver) => {
    takeNewVersion = takeOver;
    desk.update({ update: true });
  });
}

const setupsOver = (): Set<string> => new Set([...state.setups.keys()].filter((id) => {
  const setup = setupOf(state, id);
  return setup !== null && OVER.includes(phaseOf(setup));
}));

/** A tablet without any work yet has one thing to do: be enrolled. It is asked for once. */
let asked = false;
function moved({ outbox, reached, complaint, access, standing, checkpoint }: SyncState): void {
  const refused = access === "refused";
  desk.update({ records: { ...state.records, kept: outbox.length, reached, complaint, refused, standing, checkpoint } });
  if (!refused || asked || state.shop !== null || state.screen.name !== "plates") return;
  asked = true;
  desk.update({ screen: { name: "enrol" } });
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
  const made = new Driver(log, tablet, identity, known, {
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
    moved,
    timed: () => void log.purge(setupsOver()).catch((reason: unknown) => desk.fault(reason)),
    failed: (reason) => desk.fault(reason),
    merge: (shop) => withSheetsInUse(desk, shop),
  });
  desk.sync = made;
  return made;
}

log.waiting = () => desk.update({ trouble: "older" });
start().catch((reason: unknown) => desk.fault(reason));
