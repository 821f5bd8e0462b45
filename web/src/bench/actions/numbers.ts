import type { Acts, Pad } from "../../shared/core/bench.ts";
import { settingText } from "../../shared/core/choice.ts";
import type { Data } from "../../shared/core/events.ts";
import { surfaceValue } from "../../shared/core/numbers/indicator.ts";
import { afterDoubt, entered, fieldOf, newPad, padBurst, padKey, padText, padUseOf } from "../../shared/core/numbers/pad.ts";
import type { Work } from "../../shared/core/work.ts";
import { draftKey, saveDraft } from "../store/drafts.ts";
import type { Desk } from "./desk.ts";
import { enough, late, record } from "./steps.ts";

type Numbers = Pick<
  Acts, "key" | "padMode" | "turns" | "marks" | "padStage" | "clearPad" | "savePad" | "openPad" | "words"
>;

const DRAFT_MS = 250;

export class NumberDesk {
  private readonly desk: Desk;
  private waiting: ReturnType<typeof setTimeout> | undefined;

  constructor(desk: Desk) {
    this.desk = desk;
  }

  acts(): Numbers {
    return {
      key: (key) => this.key(key),
      padMode: (mode) => this.change((pad) => ({ ...pad, mode, source: "typed", value: null, turns: null, marks: null })),
      turns: (turns) => this.change((pad) => ({ ...pad, turns, source: "dial" })),
      marks: (marks) => this.change((pad) => ({ ...pad, marks, source: "dial" })),
      padStage: (stage) => this.change((pad, work) => ({ ...pad, stage: stage === "read back" ? afterDoubt(pad, work) : stage })),
      clearPad: () => this.change((pad) => newPad(pad.use, pad.step)),
      savePad: () => void this.save(),
      openPad: (use) => {
        const step = this.desk.work()?.step;
        if (step) this.desk.update({ pad: newPad(use, step.id) });
      },
      words: (text) => this.desk.update({ words: text.replace(/\p{Surrogate}/gu, "").slice(0, 400) }),
    };
  }

  /** The pad on the screen: the one in use, or the step's own, empty. */
  private pad(work: Work): Pad | null {
    const { pad } = this.desk.state;
    if (pad && (pad.step === work.step?.id || pad.use === "correction" || pad.use === "pin")) return pad;
    const use = work.step && padUseOf(work.step);
    return use ? newPad(use, work.step!.id) : null;
  }

  private change(make: (pad: Pad, work: Work) => Pad | null): void {
    const work = this.desk.work();
    const pad = work && this.pad(work);
    const next = pad && make(pad, work);
    if (!next) return this.refuse();
    this.desk.update({ pad: next });
    this.draftSoon();
  }

  private refuse(): void {
    this.desk.signals.wrong();
    this.desk.update({ wrongKey: this.desk.state.wrongKey + 1 });
  }

  private key(key: string): void {
    const work = this.desk.work();
    const pad = work && this.pad(work);
    if (!pad || pad.stage !== "typing") return;
    if (key === "enter") return this.enter(work, pad);
    if (pad.mode === "dial") return this.refuse();
    this.change((one) => padKey(one, key, fieldOf(one, work)));
  }

  burst(raw: string): void {
    this.change((pad, work) => (pad.stage === "typing" && work.indicator ? padBurst(pad, raw, work) : null));
  }

  private enter(work: Work, pad: Pad): void {
    if (pad.use === "pin") return;
    if (pad.use === "reading" || pad.use === "correction") {
      const info = this.desk.state.shop?.plates.find((plate) => plate.serial === work.plate) ?? null;
      return this.change((one) => entered(one, work, info));
    }
    const text = padText(pad, fieldOf(pad, work), null);
    if (text === null) return this.refuse();
    void this.count(work, pad, text);
  }

  /** Counts and a read torque need no reading back: good parts first, then scrap, then the record. */
  private async count(work: Work, pad: Pad, text: string): Promise<void> {
    if (pad.use === "good") this.desk.update({ pad: { ...newPad("scrap", pad.step), first: text } });
    else if (pad.use === "scrap") await record(this.desk, "step done", { good: Number(pad.first), scrap: Number(text) });
    else await this.peak(work, text);
  }

  private async peak(work: Work, shown: string): Promise<void> {
    const { step, tool } = work;
    if (!step?.target || !tool) return;
    await record(this.desk, "clamp tightened", {
      clamp: step.subject!.id, pass: step.pass ?? 1, set: { value: settingText(tool, step.target.value), unit: tool.unit },
      tool: tool.serial, after: "read", shown: { value: shown, unit: tool.unit },
    });
  }

  private async save(): Promise<void> {
    const work = this.desk.work();
    const { pad } = this.desk.state;
    if (!work?.indicator || !pad || pad.value === null) return;
    if (pad.stage === "reason" && !enough(this.desk)) return;
    if (pad.use === "correction") return this.correct(work, pad);
    await record(this.desk, "reading taken", this.reading(work, pad));
  }

  private reading(work: Work, pad: Pad): Data {
    const second = work.status?.state === "second entry";
    return {
      point: work.step!.subject!.id, state: work.step!.state ?? "", ...this.value(work, pad),
      indicator: work.indicator!.serial, entry: second ? 2 : 1, ...(second ? { reason: this.desk.state.words.trim() } : {}),
    };
  }

  private value(work: Work, pad: Pad): Data {
    const source = this.desk.state.paper ? "paper" : pad.source;
    return { value: surfaceValue(work.indicator!, pad.value!), unit: work.indicator!.unit, raw: pad.raw.slice(0, 40), source };
  }

  private async correct(work: Work, pad: Pad): Promise<void> {
    const { screen, words } = this.desk.state;
    if (screen.name !== "work" || screen.panel?.name !== "correct") return;
    const data = { refers: screen.panel.event, reason: words.trim(), ...this.value(work, pad) };
    if (!(await this.desk.write(screen.setup, ...late(this.desk, "correction", data)))) return;
    this.desk.update({ pad: null, words: "", screen: { ...screen, panel: null } });
    await this.desk.recall();
  }

  /** At most a quarter second of typing is lost when the browser dies; a PIN is never kept. */
  private draftSoon(): void {
    this.waiting ??= setTimeout(() => {
      this.waiting = undefined;
      const { pad, screen } = this.desk.state;
      if (!pad || pad.use === "pin" || pad.use === "correction" || screen.name !== "work") return;
      void saveDraft(this.desk.log, draftKey(screen.setup, pad.step), pad).catch((reason: unknown) => this.desk.fault(reason));
    }, DRAFT_MS);
  }
}
