/** How a tablet makes itself known: once with a lead's code, then with its key whenever a session is wanted. */

import { enrolProof, sessionProof } from "../../shared/core/enrol.ts";
import type { Failure } from "../../shared/core/sync.ts";
import { NOT_ENROLLED } from "../../shared/core/sync/wire.ts";
import type { Enrolled, Identity } from "../store/db.ts";
import { signText } from "./keys.ts";
import { send } from "./transport.ts";
import type { Reply } from "./transport.ts";

/** No key on this tablet: it cannot be enrolled. */
const KEYLESS: Failure = { status: 401, code: NOT_ENROLLED, message: "This tablet has no key." };

export async function makeSession(tablet: string, identity: Identity | null): Promise<Failure | null> {
  if (identity === null) return KEYLESS;
  const asked = await send("/api/tablets/challenge", { tablet }, isChallenge);
  if (!asked.ok) return asked.failure;
  const { nonce } = asked.body;
  const proof = await signText(identity, sessionProof(nonce, tablet));
  const made = await send("/api/tablets/session", { tablet, nonce, proof }, (body): body is null => body === null);
  return made.ok ? null : made.failure;
}

export async function enrol(code: string, tablet: string, identity: Identity, build: string): Promise<Reply<Enrolled>> {
  const proof = await signText(identity, enrolProof(code, tablet));
  return send("/api/tablets/enrol", { code, tablet, key: identity.raw, proof, build }, isEnrolled);
}

const isChallenge = (body: unknown): body is { nonce: string } => textIn(body, "nonce");

const isEnrolled = (body: unknown): body is Enrolled => textIn(body, "name") && textIn(body, "epoch");

const textIn = (body: unknown, name: string): boolean =>
  typeof body === "object" && body !== null && typeof (body as Record<string, unknown>)[name] === "string";
