import type { Acts } from "../../shared/core/bench.ts";
import { coverHash } from "../../shared/core/events.ts";
import type { Signing } from "../../shared/core/events.ts";
import { PIN_FIELD, newPad } from "../../shared/core/numbers/pad.ts";
import type { Desk } from "./desk.ts";

export const SHORTEST_PIN = 4;

export type Seal = (publicKey: string, signing: Signing, pin: string) => Promise<string>;

export function signingActs(desk: Desk, seal: Seal): Pick<Acts, "sign" | "countersignAs"> {
  return {
    sign: () => void sign(desk, seal),
    countersignAs: (badge) => desk.update({ judge: badge, pad: newPad("pin", "sign") }),
  };
}

/** Sign exactly the records of this setup that are on this tablet now, in their order. */
async function sign(desk: Desk, seal: Seal): Promise<void> {
  const { screen, pad, shop, person, judge } = desk.state;
  const pin = pad?.use === "pin" ? pad.entry.digits : "";
  if (screen.name !== "work" || pin.length < SHORTEST_PIN || pin.length > PIN_FIELD.maxDigits || !shop?.key) {
    return desk.signals.wrong();
  }
  const counter = screen.panel?.name === "countersign";
  const kept = desk.state.setups.get(screen.setup)!;
  const hash = coverHash(kept.map((one) => one.hash));
  const by = counter ? judge : person;
  const meaning = counter ? "checked by" : "tightened by";
  const { setup } = screen;
  const sealed = await seal(shop.key.public, { setup, cover: hash, person: by ?? "", meaning, tablet: desk.state.tablet }, pin).catch(() => null);
  if (sealed === null) return desk.update({ trouble: "seal" });
  const data = {
    meaning, covers: { events: kept.map((one) => one.event.id), hash }, sealed, key: shop.key.id,
  };
  const event = await desk.write(screen.setup, counter ? "countersigned" : "signed", counter ? null : "sign", data, by);
  if (event) desk.update({ pad: null, judge: null, screen: { ...screen, panel: null } });
}
