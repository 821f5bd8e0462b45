/** The sync machine of many tablets behind a pipe: a line of JSON in, a line of JSON out. */

import { createInterface } from "node:readline";

import { advance, begin } from "../../../web/src/shared/core/sync.ts";
import type { Input, Remembered, SyncState } from "../../../web/src/shared/core/sync.ts";

/** `known` starts a tablet from what is on its disk; without it `input` moves it on. */
interface Order { tablet: string; known?: Remembered; input: Input; random: number }

const states = new Map<string, SyncState>();

createInterface({ input: process.stdin }).on("line", (line) => {
  const { tablet, known, input, random } = JSON.parse(line) as Order;
  const before = known ? begin(known) : states.get(tablet)!;
  const { state, effects } = advance(before, input, random);
  states.set(tablet, state);
  process.stdout.write(`${JSON.stringify({ state, effects })}\n`);
});
