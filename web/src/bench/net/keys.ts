/** The tablet's own key: made here, never leaves this browser, signs what this tablet sends. */

import type { Identity } from "../store/db.ts";
import { base64 } from "./bytes.ts";

const KIND = { name: "ECDSA", namedCurve: "P-256" } as const;
const SIGNING = { name: "ECDSA", hash: "SHA-256" } as const;

/** False over plain http on a shop's network, where a browser offers no cryptography. */
export const canSign = (): boolean => typeof crypto.subtle === "object";

export async function makeIdentity(): Promise<Identity> {
  const keys = (await crypto.subtle.generateKey(KIND, false, ["sign", "verify"])) as CryptoKeyPair;
  const raw = await crypto.subtle.exportKey("raw", keys.publicKey);
  return { keys, raw: base64(new Uint8Array(raw)), enrolled: null };
}

/** Raw r||s in base64, over the UTF-8 bytes of the text. */
export async function signText(identity: Identity, text: string): Promise<string> {
  const signature = await crypto.subtle.sign(SIGNING, identity.keys.privateKey, new TextEncoder().encode(text));
  return base64(new Uint8Array(signature));
}
