import assert from "node:assert/strict";
import { webcrypto } from "node:crypto";
import { test } from "node:test";

import { CODE_KEYS, codeIn, codeInAddress, codeKey, codeShown, enrolProof, eventProof, sessionProof } from "../../web/src/shared/core/enrol.ts";
import { SCHEMA, signInfo } from "../../web/src/shared/core/events.ts";
import { makeIdentity, signText } from "../../web/src/bench/net/keys.ts";

const CODE = "7K2MPXW9QA";

test("a code is taken from the office's link, from its own writing and from lower case", () => {
  for (const raw of [`https://clamp.local/bench#enrol=${CODE}`, CODE, "7K2MP-XW9QA", " 7k2mp-xw9qa "]) assert.equal(codeIn(raw), CODE, raw);
});

test("what is no code is none: too short, too long, letters that look alike, another link", () => {
  for (const raw of ["7K2MP", `${CODE}2`, "7K2MPXW9Q0", "7K2MPXW9QI", "https://clamp.local/bench", "B-01"]) assert.equal(codeIn(raw), null, raw);
});

test("an address without a code names none", () => {
  assert.equal(codeInAddress("https://clamp.local/bench#enrol"), null);
  assert.equal(codeInAddress(`https://clamp.local/bench#enrol=${CODE}`), CODE);
});

test("only the code's own characters are keys, and no more than ten", () => {
  assert.equal(codeKey("", "k"), "K");
  assert.equal(codeKey("", "0"), null);
  assert.equal(codeKey(CODE, "2"), null);
  assert.equal(codeKey(CODE, "back"), CODE.slice(0, -1));
  assert.equal(codeKey("", "back"), null);
  assert.equal(new Set(CODE_KEYS).size, 30);
});

test("a code is shown in two halves with a place for what is missing", () => {
  assert.equal(codeShown(CODE), "7K2MP-XW9QA");
  assert.equal(codeShown("7K2"), "7K2··-·····");
});

test("each proof names what it is for, so that none can stand for another", () => {
  const proofs = [enrolProof(CODE, "t"), sessionProof(CODE, "t"), eventProof(CODE)];
  assert.equal(new Set(proofs.map((text) => text.split(" ")[0])).size, 3);
  assert.equal(enrolProof(CODE, "t"), `clampbook-enrol/1 ${CODE} t`);
});

test("a sealed PIN is bound to setup, records, person, meaning and tablet", () => {
  assert.equal(SCHEMA, 2);
  assert.equal(
    signInfo({ setup: "s", cover: "c", person: "B-01", meaning: "tightened by", tablet: "t" }),
    "clampbook-sign/2 s c B-01 tightened by t",
  );
});

test("a tablet's key cannot be read out, and what it signs is checked with the 65 bytes it gives away", async () => {
  const identity = await makeIdentity();
  assert.equal(identity.keys.privateKey.extractable, false);
  const raw = Buffer.from(identity.raw, "base64");
  assert.deepEqual([raw.length, raw[0]], [65, 4]);
  const key = await webcrypto.subtle.importKey("raw", raw, { name: "ECDSA", namedCurve: "P-256" }, true, ["verify"]);
  const text = eventProof("ab");
  const signature = Buffer.from(await signText(identity, text), "base64");
  assert.equal(signature.length, 64);
  const verify = (words: string) => webcrypto.subtle.verify({ name: "ECDSA", hash: "SHA-256" }, key, signature, Buffer.from(words));
  assert.deepEqual([await verify(text), await verify(`${text}.`)], [true, false]);
});
