import { readFileSync } from "node:fs";

/** One of the files that hold the same rules to Python and to TypeScript. */
export function vectors<T>(name: string): T {
  return JSON.parse(readFileSync(new URL(`../vectors/${name}.json`, import.meta.url), "utf8")) as T;
}
