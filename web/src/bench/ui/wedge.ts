import { GAP_MS, IDLE, fallSilent, hear } from "../../shared/core/numbers/wedge.ts";
import type { Catch, Heard } from "../../shared/core/numbers/wedge.ts";

export interface Ears { listening(): boolean; burst(raw: string): void; key(key: string): void }

/** Listens to the keyboard wherever the focus is, except in a text field. */
export function catchKeys(ears: Ears): void {
  let state: Catch = IDLE;
  let timer: ReturnType<typeof setTimeout> | undefined;
  const tell = (heard: readonly Heard[]): void => {
    for (const one of heard) {
      if (one.type === "burst") ears.burst(one.raw);
      else one.keys.filter((key) => key !== "Enter").forEach((key) => ears.key(key));
    }
  };
  addEventListener("keydown", (event) => {
    if (!ears.listening() || event.ctrlKey || event.altKey || event.metaKey || inText(event.target)) return;
    if (event.key === "Backspace") ears.key("back");
    const caught = hear(state, event.key === " " ? "" : event.key, event.timeStamp);
    ({ state } = caught);
    tell(caught.heard);
    if (event.key === "Enter" && !caught.swallow && !isControl(event.target)) ears.key("enter");
    if (caught.swallow) event.preventDefault();
    clearTimeout(timer);
    timer = setTimeout(() => {
      const silent = fallSilent(state);
      state = silent.state;
      tell(silent.heard);
    }, GAP_MS + 10);
  }, true);
}

const inText = (target: EventTarget | null): boolean =>
  target instanceof HTMLInputElement || target instanceof HTMLTextAreaElement || target instanceof HTMLSelectElement;

const isControl = (target: EventTarget | null): boolean =>
  target instanceof HTMLButtonElement || target instanceof HTMLAnchorElement;

/** A typed key as the keypad names it; null for keys that mean nothing here. */
export function padKeyName(key: string): string | null {
  if (/^[0-9]$/.test(key)) return key;
  return { "-": "sign", "\u2212": "sign", ",": "point", ".": "point", back: "back", enter: "enter" }[key] ?? null;
}
