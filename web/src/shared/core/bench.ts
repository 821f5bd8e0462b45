/** What the bench's screens are drawn from, and what they may ask for. */

import type { BenchEvent } from "./events.ts";
import type { Compared } from "./expected.ts";
import type { Doubt } from "./numbers/plausibility.ts";
import type { Entry } from "./numbers/entry.ts";
import type { Turn } from "./geometry.ts";
import type { VerdictWord } from "./setup/state.ts";
import type { Checkpoint, Standing } from "./sync/wire.ts";
import type { ShopData } from "./types.ts";

export type Language = "en" | "de" | "es";

export interface Settings { language: Language; sound: boolean; pxPerMm: number; turn: Turn }

export type Panel =
  | { name: "trouble" } | { name: "note" } | { name: "recorded" } | { name: "pause" } | { name: "abandon" }
  | { name: "bow" } | { name: "correct"; event: string } | { name: "undo"; event: string } | { name: "countersign" };

export type Screen =
  | { name: "starting" }
  | { name: "second tab" }
  | { name: "plates" }
  | { name: "badge"; plate: string; setup: string | null; wrong: string | null }
  | { name: "due"; plate: string; person: string }
  | { name: "tools"; plate: string; person: string; tool: string | null; indicator: string | null }
  | { name: "resume"; setup: string; person: string }
  | { name: "work"; setup: string; panel: Panel | null }
  | { name: "enrol" }
  | { name: "settings" }
  | { name: "card" };

/** One number on its way in; kept as a draft so that a half-typed reading survives a restart. */
export interface Pad {
  use: "reading" | "peak" | "good" | "scrap" | "correction" | "pin";
  step: string;
  stage: "typing" | "doubt" | "read back" | "reason";
  mode: "keys" | "dial";
  entry: Entry;
  turns: number | null;
  marks: number | null;
  value: string | null;
  raw: string;
  source: "typed" | "dial" | "wedge" | "paper";
  doubts: Doubt[];
  reason: string;
  first: string | null;
}

/** `aside`: the server keeps it whole for the lead, outside the setup. */
export interface Kept { event: BenchEvent; hash: string; seq: number | null; flags: string[]; mine: boolean; aside?: boolean }

/** `refused`: the server does not know this tablet, so nothing leaves it. */
export interface Records {
  kept: number; setAside: number; reached: boolean | null; complaint: string | null;
  refused: boolean; standing: Standing; checkpoint: Checkpoint | null;
}

export type EnrolTrouble =
  | { kind: "unknown" | "unreached" } | { kind: "too many"; waitS: number | null } | { kind: "unsent"; count: number }
  | { kind: "other"; message: string };

/** The lead's code on its way in. */
export interface Enrolling { code: string; asking: boolean; trouble: EnrolTrouble | null }

export interface BenchState {
  screen: Screen;
  shop: ShopData | null;
  setups: Map<string, Kept[]>;
  verdicts: Map<string, { verdict: VerdictWord; reason: string | null }>;
  person: string | null;
  judge: string | null;
  judgement: { choice: "accept" | "rework" | "reject" | null };
  goTo: string | null;
  pad: Pad | null;
  words: string;
  said: Said | null;
  trouble: string | null;
  busy: boolean;
  paper: boolean;
  records: Records;
  enrolling: Enrolling;
  /** What the shop calls this tablet; null until it was enrolled. */
  tabletName: string | null;
  settings: Settings;
  tablet: string;
  build: string;
  nowMs: number;
  awake: boolean | null;
  secure: boolean;
  camera: boolean;
  update: boolean;
  wrongKey: number;
}

/** A line about what was just saved, shown on the next screen. */
export type Said =
  | { kind: "within" | "out"; point: string; value: string; unit: string; low: number; high: number; expected: Compared | null }
  | { kind: "kept"; point: string; value: string; unit: string; expected: Compared | null }
  | { kind: "pass done"; pass: number }
  | { kind: "movers"; clamps: string[] }
  | { kind: "restarted"; group: string };

export interface Acts {
  home(): void;
  openPlate(serial: string): void;
  scanPlate(): void;
  chooseBadge(badge: string): void;
  startWork(): void;
  chooseTool(serial: string): void;
  chooseIndicator(serial: string): void;
  openSetup(): void;
  goOn(): void;
  takeOver(): void;
  done(extra?: Record<string, unknown>): void;
  tightened(): void;
  moved(): void;
  panel(panel: Panel | null): void;
  words(text: string): void;
  trouble(what: string): void;
  closeTrouble(event: string): void;
  note(): void;
  pause(reason: "left" | "break"): void;
  abandon(): void;
  goTo(step: string): void;
  settle(step: string, keep: string): void;
  judgeAs(badge: string): void;
  judgeHow(choice: "accept" | "rework" | "reject" | null): void;
  judge(): void;
  key(key: string): void;
  padMode(mode: "keys" | "dial"): void;
  turns(turns: number): void;
  marks(marks: number): void;
  padStage(stage: Pad["stage"]): void;
  clearPad(): void;
  savePad(): void;
  openPad(use: Pad["use"]): void;
  undo(event: string): void;
  sign(): void;
  countersignAs(badge: string): void;
  turnPlan(): void;
  settings(change: Partial<Settings>): void;
  screen(screen: Screen): void;
  paper(on: boolean): void;
  reload(): void;
  dismiss(): void;
  enrolKey(key: string): void;
  enrolWith(raw: string): void;
  scanCode(): void;
  enrol(): void;
}
