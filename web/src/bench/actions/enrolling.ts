/** Making this tablet one of the shop's, with a code that a lead made. */

import type { Acts, Enrolling, EnrolTrouble } from "../../shared/core/bench.ts";
import { CODE_LENGTH, codeIn, codeKey } from "../../shared/core/enrol.ts";
import type { Failure } from "../../shared/core/sync.ts";
import { uuid7 } from "../../shared/core/time.ts";
import type { Enrolled, Identity } from "../store/db.ts";
import { beginAnew, keepEnrolment } from "../store/identity.ts";
import type { Desk } from "./desk.ts";

export type Asked = { ok: true; body: Enrolled } | { ok: false; failure: Failure };

/** What enrolling needs from outside: the request, a key, and what follows when it worked. */
export interface EnrolMeans {
  ask(code: string, tablet: string, identity: Identity, build: string): Promise<Asked>;
  make(): Promise<Identity>;
  identity(): Identity | null;
  entered(identity: Identity): void;
  renewed(): void;
}

export const NOTHING_TYPED: Enrolling = { code: "", asking: false, trouble: null };

export function enrolActs(desk: Desk, means: EnrolMeans): Pick<Acts, "enrolKey" | "enrolWith" | "enrol"> {
  return {
    enrolKey: (key) => typed(desk, codeKey(desk.state.enrolling.code, key)),
    enrolWith: (raw) => typed(desk, codeIn(raw)),
    enrol: () => void enrol(desk, means),
  };
}

function typed(desk: Desk, code: string | null): void {
  if (desk.state.enrolling.asking) return;
  if (code !== null) return desk.update({ enrolling: { ...NOTHING_TYPED, code } });
  desk.signals.wrong();
  desk.update({ wrongKey: desk.state.wrongKey + 1 });
}

async function enrol(desk: Desk, means: EnrolMeans): Promise<void> {
  const { code, asking } = desk.state.enrolling;
  const identity = means.identity();
  if (asking || code.length < CODE_LENGTH || identity === null) return desk.signals.wrong();
  desk.update({ enrolling: { code, asking: true, trouble: null } });
  try {
    const known = desk.state.records.standing === "in use";
    const trouble = known ? await asItIs(desk, means, code, identity) : await anew(desk, means, code);
    desk.update({ enrolling: trouble ? { code: trouble.kind === "unknown" ? "" : code, asking: false, trouble } : NOTHING_TYPED });
    if (trouble) desk.signals.wrong();
  } catch (reason) {
    desk.update({ enrolling: { code, asking: false, trouble: null } });
    desk.fault(reason);
  }
}

/** Under the name this tablet has had from its first start, which its records carry. */
async function asItIs(desk: Desk, means: EnrolMeans, code: string, identity: Identity): Promise<EnrolTrouble | null> {
  const reply = await means.ask(code, desk.state.tablet, identity, desk.log.build);
  if (!reply.ok) return reply.failure.code === "tablet-known" ? anew(desk, means, code) : troubleOf(reply.failure);
  const known = await keepEnrolment(desk.log, identity, reply.body);
  desk.update({ tabletName: reply.body.name, screen: { name: "plates" } });
  means.entered(known);
  return null;
}

/** Under a new name and key: the old name is taken by another device, or was taken out of use. */
async function anew(desk: Desk, means: EnrolMeans, code: string): Promise<EnrolTrouble | null> {
  const { kept } = desk.state.records;
  if (kept > 0) return { kind: "unsent", count: kept };
  const tablet = uuid7(desk.log.clock.now(), desk.log.random);
  const identity = await means.make();
  const reply = await means.ask(code, tablet, identity, desk.log.build);
  if (!reply.ok) return troubleOf(reply.failure);
  await beginAnew(desk.log, tablet, { ...identity, enrolled: reply.body });
  means.renewed();
  return null;
}

function troubleOf(failure: Failure): EnrolTrouble {
  if (failure.status === null) return { kind: "unreached" };
  if (failure.code === "code-unknown") return { kind: "unknown" };
  if (failure.status === 429) return { kind: "too many", waitS: failure.waitS ?? null };
  return { kind: "other", message: failure.message };
}
