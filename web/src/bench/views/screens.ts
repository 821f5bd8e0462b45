import { html } from "lit";
import type { TemplateResult } from "lit";

import { workOf } from "../../shared/core/work.ts";
import type { Bench } from "./context.ts";
import { enrolView } from "./before/enrol.ts";
import { badgeView } from "./before/people.ts";
import { platesView } from "./before/plates.ts";
import { resumeView } from "./before/resume.ts";
import { cardView, settingsView } from "./before/settings.ts";
import { dueView, toolsView } from "./before/start.ts";
import { notices } from "./frame.ts";
import { workView } from "./setup/work.ts";

export function screenView(b: Bench): TemplateResult {
  const { screen } = b.state;
  switch (screen.name) {
    case "starting":
      return plainScreen(b, b.t.starting, "");
    case "second tab":
      return plainScreen(b, b.t.secondTab, b.t.secondTabHelp);
    case "plates":
      return platesView(b);
    case "badge":
      return badgeView(b);
    case "due":
      return dueView(b, screen.plate);
    case "tools":
      return toolsView(b, screen.plate, screen.tool, screen.indicator);
    case "resume":
      return resumeView(b, workOf(b.state, screen.setup), screen.person);
    case "work":
      return workView(b, workOf(b.state, screen.setup));
    case "enrol":
      return enrolView(b);
    case "settings":
      return settingsView(b);
    case "card":
      return cardView(b);
  }
}

const plainScreen = (b: Bench, title: string, help: string): TemplateResult =>
  html`${notices(b)}<main class="page plain" data-screen=${help ? "second-tab" : "starting"}><h1 tabindex="-1" data-heading>${title}</h1><p class="big">${help}</p></main>`;

/** Two renderings with the same key are the same screen; another key closes the guard for a moment. */
export function screenKey(b: Bench): string {
  const { screen, pad, judge, judgement } = b.state;
  if (screen.name !== "work") return [screen.name, "plate" in screen ? screen.plate : "", "setup" in screen ? screen.setup : ""].join("|");
  const work = workOf(b.state, screen.setup);
  const status = work?.status;
  return [
    screen.setup, work?.step?.id, work?.blocked?.wanted.id, work?.rival?.id, work?.mine, work?.phase, status?.state, work?.setup.round,
    work?.setup.signatures.length, screen.panel?.name, pad?.stage ?? "typing", pad?.use === "scrap" || pad?.use === "peak" ? pad.use : "", judge, judgement.choice === null,
  ].join("|");
}
