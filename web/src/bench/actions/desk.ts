import type { BenchState, Kept, Said as Line } from "../../shared/core/bench.ts";
import type { BenchEvent, Data, EventKind } from "../../shared/core/events.ts";
import { hashText, parseEvent } from "../../shared/core/events.ts";
import { groupOf } from "../../shared/core/plan.ts";
import { comparedTo } from "../../shared/core/setup/readings.ts";
import type { Setup } from "../../shared/core/setup/state.ts";
import { stepOf, undoneAt } from "../../shared/core/setup/state.ts";
import type { Marked } from "../../shared/core/sync.ts";
import type { Work } from "../../shared/core/work.ts";
import { setupOf, workOf } from "../../shared/core/work.ts";
import type { OtherRow, OwnRow } from "../store/db.ts";
import { draftKey, loadDraft } from "../store/drafts.ts";
import type { Log } from "../store/log.ts";

export interface Signals { wrong(): void; passDone(): void; tap(): void }

export interface Sync { feed(input: { type: "appended"; n: number }): void }

/** Where the actions meet: the state the screens are drawn from, the log, and the way to the server. */
export class Desk {
  readonly state: BenchState;
  readonly log: Log;
  readonly signals: Signals;
  private readonly redraw: () => void;
  sync: Sync | null = null;

  constructor(state: BenchState, log: Log, signals: Signals, redraw: () => void) {
    this.state = state;
    this.log = log;
    this.signals = signals;
    this.redraw = redraw;
  }

  update(change: Partial<BenchState> = {}): void {
    Object.assign(this.state, change, { nowMs: this.log.serverNow() });
    this.redraw();
  }

  work(): Work | null {
    const { screen } = this.state;
    return screen.name === "work" || screen.name === "resume" ? workOf(this.state, screen.setup) : null;
  }

  /** Write one event; the screen moves on only after it is safely on this tablet. Null when it was not. */
  async write(setup: string, kind: EventKind, step: string | null, data: Data, person = this.state.person): Promise<BenchEvent | null> {
    if (this.state.busy) return null;
    this.state.busy = true;
    try {
      const draft = step === null ? null : draftKey(setup, step);
      const said = { setup, kind, step, person, data: this.state.paper ? { ...data, source: "paper" } : data };
      const { event, hash } = await this.log.append(said, draft);
      const before = setupOf(this.state, setup);
      this.add({ event, hash, seq: null, flags: [], mine: true });
      this.afterWrite(before, setup, event);
      this.sync?.feed({ type: "appended", n: event.n });
      return event;
    } catch (reason) {
      this.fault(reason);
      return null;
    } finally {
      this.update({ busy: false });
    }
  }

  fault(reason: unknown): void {
    this.signals.wrong();
    const name = reason instanceof DOMException ? reason.name : "";
    this.update({ trouble: name === "QuotaExceededError" ? "full" : name === "VersionError" ? "newer" : `storage: ${String(reason)}` });
  }

  private afterWrite(before: Setup | null, setupId: string, event: BenchEvent): void {
    const after = setupOf(this.state, setupId)!;
    this.state.trouble = null;
    this.state.goTo = this.state.goTo === event.step ? null : this.state.goTo;
    this.state.said = before ? lineAfter(before, after, event) : null;
    if (this.state.said?.kind === "pass done" || this.state.said?.kind === "movers") this.signals.passDone();
    else this.signals.tap();
  }

  /** The half-typed number of the step now on the screen, if one was kept. */
  async recall(): Promise<void> {
    const work = this.work();
    if (this.state.pad || !work?.step || this.state.screen.name !== "work") return;
    const draft = await loadDraft(this.log, draftKey(work.setup.id, work.step.id)).catch(() => null);
    if (draft && this.work()?.step?.id === work.step.id && !this.state.pad) this.update({ pad: draft });
  }

  private add(kept: Kept): void {
    const known = this.state.setups.get(kept.event.setup) ?? [];
    if (!known.some((one) => one.event.id === kept.event.id)) {
      this.state.setups.set(kept.event.setup, inOrder([...known, kept]));
    }
  }

  load(own: readonly OwnRow[], others: readonly OtherRow[]): void {
    const bySetup = new Map<string, Kept[]>();
    const put = (kept: Kept): void => {
      bySetup.set(kept.event.setup, [...(bySetup.get(kept.event.setup) ?? []), kept]);
    };
    for (const row of own) {
      put({ event: parseEvent(row.text), hash: row.hash, seq: row.seq, flags: row.flags, mine: true, aside: row.outcome === "set aside" });
    }
    for (const row of others) put(other(row));
    for (const [setup, kept] of bySetup) this.state.setups.set(setup, inOrder(kept));
  }

  pulled(rows: readonly OtherRow[]): void {
    for (const row of rows) this.add(other(row));
  }

  marked(marks: readonly Marked[]): void {
    const told = new Map(marks.map((mark) => [mark.n, mark]));
    for (const [setup, kept] of this.state.setups) {
      if (!kept.some((one) => one.mine && told.has(one.event.n))) continue;
      const next = kept.map((one) => {
        const mark = one.mine ? told.get(one.event.n) : undefined;
        return mark ? { ...one, seq: mark.seq, flags: mark.flags, aside: mark.outcome === "set aside" } : one;
      });
      this.state.setups.set(setup, inOrder(next));
    }
  }

  restored(resend: readonly number[], pullAgain: boolean): void {
    const again = new Set(resend);
    for (const [setup, kept] of this.state.setups) {
      const left = kept.filter((one) => one.mine || !pullAgain);
      const next = left.map((one) => (one.mine && again.has(one.event.n) ? { ...one, seq: null, aside: false } : one));
      if (next.length > 0) this.state.setups.set(setup, inOrder(next));
      else this.state.setups.delete(setup);
    }
  }
}

const other = (row: OtherRow): Kept =>
  ({ event: parseEvent(row.text), hash: hashText(row.text), seq: row.seq, flags: row.flags, mine: false });

/** The server's order; what it has not seen yet comes last, as it was made. */
const inOrder = (kept: Kept[]): Kept[] =>
  kept.sort((a, b) => (a.seq ?? Infinity) - (b.seq ?? Infinity) || a.event.n - b.event.n);

function lineAfter(before: Setup, after: Setup, event: BenchEvent): Line | null {
  if (after.movers.size > before.movers.size) return { kind: "movers", clamps: [...after.movers.values()].at(-1)! };
  if (after.restarts.length > before.restarts.length) return { kind: "restarted", group: after.restarts.at(-1)!.group };
  const step = after.plan.find((one) => one.id === event.step);
  if (event.kind === "reading taken" && step) return readingLine(after, event);
  if (!step || step.kind !== "torque" || event.kind !== "clamp tightened") return null;
  const same = after.plan.filter((one) => groupOf(one) === groupOf(step));
  return same.every((one) => !undoneAt(after, one.id)) ? { kind: "pass done", pass: step.pass! } : null;
}

function readingLine(after: Setup, event: BenchEvent): Line | null {
  const { point, value, unit } = event.data as { point: string; value: string; unit: string };
  const final = after.readings.get(event.step!)?.final;
  const { limits } = stepOf(after, event.step!);
  if (!final) return null;
  const said = { point, value, unit, expected: comparedTo(after, final, event.step!) };
  return limits ? { kind: final.out ? "out" : "within", ...said, ...limits } : { kind: "kept", ...said };
}
