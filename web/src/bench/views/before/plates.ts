import { html, nothing } from "lit";
import type { TemplateResult } from "lit";

import type { PlateNow } from "../../../shared/core/plates.ts";
import { plateNow, sheetFor } from "../../../shared/core/plates.ts";
import { isConfirmed } from "../../../shared/core/setup/state.ts";
import type { Setup } from "../../../shared/core/setup/state.ts";
import { progress } from "../../../shared/core/setup/view.ts";
import { clampStates, sheetOf } from "../../../shared/core/work.ts";
import { planView } from "../../ui/plan.ts";
import type { Bench } from "../context.ts";
import { notices, topLine } from "../frame.ts";

export function platesView(b: Bench): TemplateResult {
  const plates = (b.state.shop?.plates ?? []).map((info) => plateNow(b.state, info));
  return html`${topLine(b, null, b.state.shop?.shop ?? b.t.bench)}${notices(b)}
    <main class="page plates" data-screen="plates">
      <div class="page-head"><h1 tabindex="-1" data-heading>${b.t.pickPlate}</h1>${serialField(b)}</div>
      ${b.state.words ? html`<p class="said rust" role="alert">▲ ${b.t.noSuchPlate(b.state.words)}</p>` : nothing}
      <div class="page-body cards">
        ${plates.length === 0 ? html`<p class="help">${b.t.noShop}</p>` : plates.map((plate) => card(b, plate))}
      </div>
      <div class="page-foot idle">
        <button class="low-key" data-settings @click=${() => b.act.screen({ name: "settings" })}>${b.t.settings}</button>
        ${b.state.update ? html`<span>${b.t.update}</span>
          <button class="low-key" data-update @click=${() => b.act.reload()}>${b.t.updateNow}</button>` : nothing}
      </div>
    </main>`;
}

function serialField(b: Bench): TemplateResult {
  const submit = (event: SubmitEvent): void => {
    event.preventDefault();
    const field = (event.currentTarget as HTMLFormElement).elements.namedItem("serial") as HTMLInputElement;
    if (field.value.trim()) b.act.openPlate(field.value);
  };
  return html`<form class="serial" @submit=${submit}>
    <label for="serial">${b.t.typeSerial}</label>
    <input id="serial" name="serial" data-serial autocomplete="off" autocapitalize="characters" spellcheck="false" maxlength="200">
    <button class="low-key">${b.t.open}</button>
    ${b.state.camera ? html`<button type="button" class="low-key" data-scan @click=${() => b.act.scanPlate()}>${b.t.scan}</button>` : nothing}
  </form>`;
}

function card(b: Bench, plate: PlateNow): TemplateResult {
  const { info, setup } = plate;
  const sheet = setup?.opened ? sheetOf(b.state, setup.opened) : sheetFor(b.state, info);
  const shut = plate.state === "held" || plate.missing || sheet === null || (setup === null && b.state.records.standing === "revoked");
  const marks = { clamps: setup ? clampStates(setup, null) : new Map(), subject: null, troubleWord: "" };
  return html`<button class="card ${shut ? "shut" : ""}" data-plate=${info.serial} data-state=${plate.state}
      aria-disabled=${shut} @click=${() => b.act.openPlate(info.serial)}>
    <span class="card-plan" aria-hidden="true">${sheet ? planView(sheet, 0, marks, "", info.serial) : nothing}</span>
    <span class="card-words"><b>${info.serial}</b><span class="card-title">${sheet?.title ?? info.design}</span>
      <span class="card-state">${b.t.plateState[plate.state]}</span><span class="card-more">${more(b, plate, setup)}</span></span>
  </button>`;
}

function more(b: Bench, plate: PlateNow, setup: Setup | null): string {
  if (plate.state === "held") return plate.info.reason ?? "";
  if (plate.missing) return b.t.elsewhere;
  if (setup && plate.state === "being loaded") {
    const { done, of } = progress(setup);
    return b.t.atStep(Math.min(done + 1, of), of, setup.owner_person ?? "");
  }
  if (setup && plate.state === "ready") return isConfirmed(setup) ? "" : b.t.provisional;
  return setup || sheetFor(b.state, plate.info) ? "" : b.t.noRevision;
}
