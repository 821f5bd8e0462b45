/** The readiness check: runs every check in turn and says what came of it, in words and by shape. */

import { CHECKS } from "./checks.ts";
import type { Asked, Begun, Result, State } from "./checks.ts";

const SHAPES: Record<State | "waiting", string> = {
  waiting: '<circle cx="8" cy="8" r="6"/>',
  passed: '<circle class="full" cx="8" cy="8" r="6.5"/><path class="cut" d="M4.8 8.2l2.3 2.4 4.2-5"/>',
  failed: '<path class="full" d="M8 2l6.5 12h-13z"/>',
  note: '<path d="M8 1.5L14.5 8 8 14.5 1.5 8z"/>',
};
const WORDS: Record<State | "waiting", string> = { waiting: "waiting", passed: "passed", failed: "failed", note: "note" };

const main = document.querySelector("main")!;
const list = document.querySelector("#checks")!;
const verdict = document.querySelector("#verdict")!;

function element(name: string, text = "", kind = ""): HTMLElement {
  const made = document.createElement(name);
  made.textContent = text;
  if (kind) made.className = kind;
  return made;
}

/** Shape and word; the drawings are our own constants. */
function mark(state: State | "waiting"): HTMLElement {
  const made = element("span", "", `state is-${state}`);
  made.innerHTML = `<svg class="mark" viewBox="0 0 16 16" aria-hidden="true">${SHAPES[state]}</svg>`;
  made.append(WORDS[state]);
  return made;
}

function line(name: string, title: string): HTMLElement {
  const made = element("li");
  made.dataset["check"] = name;
  made.append(mark("waiting"), element("h2", title));
  list.append(made);
  return made;
}

function show(item: HTMLElement, result: Result): void {
  item.dataset["state"] = result.state;
  item.querySelector(".state")!.replaceWith(mark(result.state));
  item.append(element("p", result.found, "found"));
  if (result.todo) item.append(element("p", result.todo, "todo"));
}

async function begin(): Promise<Asked> {
  const { origin = "", welcome = "" } = main.dataset;
  const sent = Date.now();
  try {
    const answer = await fetch("/api/ready", { cache: "no-store" });
    if (!answer.ok) return { origin, welcome, server: null, offsetMs: 0 };
    const server = (await answer.json()) as Begun;
    return { origin, welcome, server, offsetMs: Date.parse(server.time) - (sent + Date.now()) / 2 };
  } catch {
    return { origin, welcome, server: null, offsetMs: 0 };
  }
}

function link(href: string, text: string, kind: string): HTMLElement {
  const made = element("a", text, kind) as HTMLAnchorElement;
  made.href = href;
  return made;
}

function conclude(states: readonly State[], welcome: string): void {
  const wrong = states.filter((state) => state === "failed").length;
  const deeds = element("p", "", "deeds");
  const bench = link("/bench", "Open the bench", wrong ? "deed" : "deed main");
  if (wrong && welcome) deeds.append(link(`${welcome}/`, "Back to the welcome page", "deed main"));
  deeds.append(bench);
  const said = wrong
    ? `This device is not ready: ${wrong} of ${states.length} checks failed.`
    : "This device is ready for the bench.";
  verdict.replaceChildren(element("h2", said), deeds);
  main.dataset["ready"] = wrong ? "no" : "yes";
}

async function start(): Promise<void> {
  const items = CHECKS.map((check) => line(check.name, check.title));
  const asked = await begin();
  const states: State[] = [];
  for (const [at, check] of CHECKS.entries()) {
    const result = await check.run(asked).catch((reason: unknown): Result => ({
      state: "failed", found: `It could not be tried: ${String(reason)}`, todo: "Use a newer browser.",
    }));
    show(items[at]!, result);
    states.push(result.state);
  }
  conclude(states, asked.welcome);
}

void start();
