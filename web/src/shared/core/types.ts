/** Shapes of what the server hands to a tablet. Wire names are kept as they are. */

export type StepKind =
  | "clean" | "free" | "grease" | "lock" | "unlock" | "zero" | "read" | "load" | "snug" | "torque"
  | "recheck" | "lift" | "gap" | "touch" | "judge" | "sign" | "machine" | "ease" | "unload";

export type SubjectType = "clamp" | "station" | "stop" | "receiver" | "stud" | "plate" | "point";

export type When = "grease due" | "baseline due" | "second touch";

export interface Subject { type: SubjectType; id: string }

export interface Step {
  id: string;
  kind: StepKind;
  subject: Subject | null;
  pass: number | null;
  share: number | null;
  state: string | null;
  target: { value: number; unit: string } | null;
  limits: { low: number; high: number } | null;
  unit: string | null;
  item: "tool" | "indicator" | "grease" | "hoist" | null;
  when: When | null;
  blocks: StepKind[];
  /** Missing in sheets that were released before readings were predicted. */
  expected?: Expected | null;
}

/** An estimate: 95 in 100 readings of a plate to the design lie from low to high. */
export interface Expected { low_mm: number; usual_mm: number; high_mm: number }

export interface Facts { grease_due: boolean; baseline_due: boolean; second_touch?: string[] }

export interface Place { row: "front" | "middle" | "back"; column: "left" | "middle" | "right" }

export interface SheetClamp {
  id: string; x_mm: number; y_mm: number; axis_deg: number;
  spec: string; grease: string; torque_nm: number; place: Place;
}

export interface Spot { id: string; x_mm: number; y_mm: number }

export interface SheetPoint extends Spot { zero: string; read: string; low_mm: number; high_mm: number }

/** What the plate does while it is tightened, as the server's analysis left it (api/domain/analyses/guide.py). */
export interface Guide {
  clamps: string[]; stations: string[]; points: string[]; tightened: string; target_n: number[];
  presses: number[][]; flexibility_um_per_n: number[][]; bow_um_per_n: number[][]; start_um: number[];
}

export interface Sheet {
  design: string; revision: string; hash: string; title: string;
  plate: { length_mm: number; width_mm: number; thickness_mm: number };
  drawing: string;
  clamps: SheetClamp[]; stations: Spot[]; stops: Spot[]; receivers: Spot[]; points: SheetPoint[];
  passes: number[]; order: string[];
  care: { grease_every: number | null; baseline_every: number | null; force_check_every: number | null };
  mass_kg: number | null; lift: boolean; steps: Step[]; guide?: Guide | null;
  /** Missing in sheets from before a second signature could be asked for. */
  countersign?: boolean;
}

export type TorqueUnit = "N*m" | "lbf*in" | "lbf*ft";

export interface TorqueTool {
  serial: string; title: string; kind: "click" | "slip" | "reading"; unit: TorqueUnit;
  low: number; high: number; graduation: number; calibrated: string; due: string;
  pulls_limit: number; pulls_before: number; pulls: number;
  adapter: { length_mm: number; wrench_length_mm: number } | null;
  state: "in use" | "withdrawn"; note: string;
}

export interface Indicator {
  serial: string; title: string; kind: "dial" | "lever"; unit: "mm" | "in"; graduation: number;
  per_turn: number; travel: number; plus: "up" | "down"; stylus_deg: number; due: string; state: string;
}

export interface Grease { id: string; title: string; friction: { low: number; usual: number; high: number }; source: string }

export type Role = "operator" | "lead" | "engineer" | "owner" | "auditor";

export interface Person { badge: string; role: Role; active: boolean }

export interface OpenSetup { id: string; badge: string | null; tablet: string; step: string | null; at: string }

export interface OpenTrouble { event: string; setup: string; what: string; clamp: string | null; step: string | null }

export interface PlateInfo {
  serial: string; design: string; revision: string | null;
  state: "free" | "being loaded" | "ready" | "in machine" | "held";
  since: string | null; reason: string | null; open_setup: OpenSetup | null;
  setups_since_grease: number; setups_since_baseline: number;
  usual: Record<string, { median_mm: number; n: number }>;
  open_troubles: OpenTrouble[]; last_setup: string | null;
}

export interface ShopData {
  version: string; shop: string; epoch: string; time: string; start: number;
  sheets: Sheet[]; plates: PlateInfo[]; tools: TorqueTool[]; indicators: Indicator[];
  greases: Grease[]; specs: Record<string, unknown>[]; people: Person[];
  key: { id: string; public: string } | null;
  pace: Partial<Record<StepKind, number>> | null;
}
