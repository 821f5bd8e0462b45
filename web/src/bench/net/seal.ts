import { Aes128Gcm, CipherSuite, DhkemP256HkdfSha256, HkdfSha256 } from "@hpke/core";

import { signInfo } from "../../shared/core/events.ts";
import type { Signing } from "../../shared/core/events.ts";
import { base64, bytesOf } from "./bytes.ts";

/** Seal a PIN to the server's key (RFC 9180, base mode), bound to what is signed, by whom and where. */
export async function sealPin(publicKey: string, signing: Signing, pin: string): Promise<string> {
  const suite = new CipherSuite({ kem: new DhkemP256HkdfSha256(), kdf: new HkdfSha256(), aead: new Aes128Gcm() });
  const recipientPublicKey = await suite.kem.deserializePublicKey(bytesOf(publicKey));
  const text = new TextEncoder();
  const sender = await suite.createSenderContext({ recipientPublicKey, info: text.encode(signInfo(signing)) });
  const sealed = await sender.seal(text.encode(pin));
  return base64([...new Uint8Array(sender.enc), ...new Uint8Array(sealed)]);
}
