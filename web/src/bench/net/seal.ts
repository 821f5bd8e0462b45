import { Aes128Gcm, CipherSuite, DhkemP256HkdfSha256, HkdfSha256 } from "@hpke/core";

import { signInfo } from "../../shared/core/events.ts";

/** Seal a PIN to the server's key (RFC 9180, base mode), bound to the setup and to what is signed. */
export async function sealPin(publicKey: string, setup: string, coverHash: string, pin: string): Promise<string> {
  const suite = new CipherSuite({ kem: new DhkemP256HkdfSha256(), kdf: new HkdfSha256(), aead: new Aes128Gcm() });
  const recipientPublicKey = await suite.kem.deserializePublicKey(bytesOf(publicKey));
  const text = new TextEncoder();
  const sender = await suite.createSenderContext({ recipientPublicKey, info: text.encode(signInfo(setup, coverHash)) });
  const sealed = await sender.seal(text.encode(pin));
  return base64([...new Uint8Array(sender.enc), ...new Uint8Array(sealed)]);
}

function bytesOf(base64Text: string): ArrayBuffer {
  const raw = atob(base64Text);
  const bytes = new Uint8Array(raw.length);
  for (let i = 0; i < raw.length; i += 1) bytes[i] = raw.charCodeAt(i);
  return bytes.buffer;
}

const base64 = (bytes: readonly number[]): string => btoa(String.fromCharCode(...bytes));
