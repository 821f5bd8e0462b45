import { readFileSync } from "node:fs";

import type { BenchEvent } from "../../web/src/shared/core/events.ts";
import type { VerdictWord } from "../../web/src/shared/core/setup/state.ts";
import type { Step } from "../../web/src/shared/core/types.ts";

export interface Story { name: string; events: BenchEvent[]; verdicts: Record<string, VerdictWord>; countersign: boolean; expect: Record<string, unknown> }

export interface Stories { setup: string; steps: Step[]; stories: Story[] }

/** One of the files that hold the same rules to Python and to TypeScript. */
export function vectors<T>(name: string): T {
  return JSON.parse(readFileSync(new URL(`../vectors/${name}.json`, import.meta.url), "utf8")) as T;
}
