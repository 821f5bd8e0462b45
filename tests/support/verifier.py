"""A second verifier of dumps: standard library and `cryptography`, nothing of the program's code.

`python -m tests.support.verifier DUMP [FOLDER OF CHECKPOINTS]` says the first fault and ends with 1.
"""

from __future__ import annotations

import base64
import contextlib
import datetime as dt
import hashlib
import json
import sys
from pathlib import Path
from typing import Any

from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives.asymmetric import ec, ed25519
from cryptography.hazmat.primitives.asymmetric.utils import encode_dss_signature
from cryptography.hazmat.primitives.hashes import SHA256

Json = dict[str, Any]
START = "0" * 64
LINKS = {
    "event": ("flags", "hash", "id", "received_at", "seq", "sig"),
    "entry": ("at", "by", "hash", "kind", "seq", "subject"),
}
COLUMNS = ("id", "tablet", "n", "setup", "kind", "step", "person")
VERDICT = ("setup", "person", "meaning", "verdict", "reason", "sealed")


class Wrong(Exception):
    """Says what, of which line."""


def first_fault(dump: Path, checkpoints: Path | None = None) -> str:
    """What is wrong first; empty when all fits."""
    try:
        Shop(checkpoints).follow(dump)
    except Wrong as wrong:
        return str(wrong)
    return ""


class Shop:
    def __init__(self, folder: Path | None) -> None:
        self.head, self.seq, self.count = START, 0, 0
        self.here = {0: (0, START)}
        self.new_from = 0
        self.outside = None if folder is None else read_file(folder / "checkpoints.jsonl")
        self.shop_keys = {} if folder is None else read_keys(folder)
        self.lines: dict[str, list[Json]] = {}
        self.tablet_keys: dict[str, str] = {}
        self.own: dict[str, dict[int, tuple[str, str, bool]]] = {}
        self.journal: list[Json] = []
        self.signed: dict[str, int] = {}
        self.epochs: list[tuple[str, int]] = []
        self.given_up: set[str] = set()

    def follow(self, dump: Path) -> None:
        texts = dump.read_bytes().split(b"\n")
        require(texts.pop() == b"", "the dump breaks off in a line")
        for text in texts:
            line = json.loads(text)
            require(jcs(line).encode() == text, f"not canonical: {text[:60]!r}")
            self.lines.setdefault(line["line"], []).append(line)
            if line["line"] in LINKS:
                self.row(line)
            if line["line"] == "signing key" and self.outside is None:
                self.shop_keys[key_id(line["public"])] = line["public"]
        end = self.lines.get("end", [{}])[0]
        require(line["line"] == "end" and end.get("lines") == len(texts), "the dump is not whole")
        self.check_tablets()
        self.check_verdicts()
        self.check_aside()
        self.check_outside()
        numbers = [self.seq, *(one["seq"] for one in self.lines.get("signature", []))]
        require(self.lines["shop"][0]["counters"]["seq"] == max(numbers), "the counter is off")

    def row(self, line: Json) -> None:
        kind, name = line["line"], f"{line['line']} {line['seq']}"
        old = kind == "event" and line["form"] == 1
        require(not (old and self.new_from), f"{name} claims to be old")
        step = line["seq"] - self.seq
        require(step == 1 if self.new_from else step > 0, f"{name}: a number is missing before it")
        text = line["text"] if kind == "event" else line["body"]
        require(sha(text) == line["hash"], f"{name} was altered")
        link = line["hash"] if old else sha(jcs({key: line[key] for key in LINKS[kind]}))
        require(sha(self.head + link) == line["chain"], f"{name} does not follow")
        if kind == "event":
            self.event(line, name, old)
        else:
            self.entry(line, name)
        self.seq, self.head, self.count = line["seq"], line["chain"], self.count + 1
        self.here[self.seq] = (self.count, self.head)
        self.new_from = self.new_from or (0 if old else self.seq)

    def event(self, line: Json, name: str, old: bool) -> None:
        told = json.loads(line["text"])
        for column in COLUMNS:
            require(told.get(column) == line[column], f"{name}: column {column} was altered")
        require(line["outcome"] == "stored", f"{name} has another outcome")
        require(corrected(told) == line["at"], f"{name}: column at was altered")
        if not old:
            key = self.tablet_keys.get(line["tablet"])
            require(key is not None and line["sig"] is not None, f"{name} has no signature")
            text = f"clampbook-event/1 {line['hash']}"
            require(p256(str(key), text, line["sig"]), f"{name} is not signed by its tablet")
        numbers = self.own.setdefault(line["tablet"], {})
        require(line["n"] not in numbers, f"{name} is there twice")
        numbers[line["n"]] = (line["hash"], told["prev"], "chain broken" in line["flags"])
        self.own_chain(numbers, line["n"], name)
        if line["kind"] in ("signed", "countersigned"):
            self.signed[line["id"]] = line["form"]

    def own_chain(self, numbers: dict[int, tuple[str, str, bool]], n: int, name: str) -> None:
        own, prev, marked = numbers[n]
        before = numbers[n - 1][0] if n - 1 in numbers else START if n == 1 else prev
        after = numbers[n + 1][1] if n + 1 in numbers else own
        require(marked or (prev == before and after == own), f"{name} leaves its tablet's chain")

    def entry(self, line: Json, name: str) -> None:
        self.journal.append(line)
        body = json.loads(line["body"])
        if line["kind"] == "tablet enrolled":
            key = self.tablet_keys.setdefault(line["subject"], body["key"])
            require(key == body["key"], f"{name} gives a second key")
        if line["kind"] not in ("checkpoint", "restored"):
            return
        epoch = body["epoch" if line["kind"] == "checkpoint" else "from"]
        self.epochs = self.epochs or [(epoch, 0)]
        require(self.epochs[-1][0] == epoch, f"{name} is of another epoch")
        require((body["seq"], body["head"]) == (self.seq, self.head), f"{name} does not fit")
        self.shop_signed(body, name)
        if line["kind"] == "checkpoint":
            require(body["count"] == self.count, f"{name} counts otherwise")
            published = [one["signature"] for one in self.outside or []]
            inside = self.outside is None or body["signature"] in published
            require(inside, f"{name} is not in the file of checkpoints")
        else:
            require(body["epoch"] == line["subject"], f"{name} names two epochs")
            self.epochs.append((body["epoch"], line["seq"]))
            self.given_up |= set(body["given_up"])

    def check_outside(self) -> None:
        epoch = self.lines["shop"][0]["facts"]["epoch"]
        epochs = self.epochs or [(epoch, 0)]
        require(epochs[-1][0] == epoch, "the epoch is not the journal's last")
        ends = dict(
            zip([one for one, _ in epochs], [*(at for _, at in epochs[1:]), None], strict=True)
        )
        for told in self.outside or []:
            name = f"checkpoint of {told['at']}"
            self.shop_signed(told, name)
            require(told["epoch"] in {*ends, *self.given_up}, f"{name} is of an unknown epoch")
            end = ends.get(told["epoch"])
            if told["epoch"] not in ends or (end is not None and told["seq"] >= end):
                continue
            require(told["seq"] <= self.seq, f"{name} reaches beyond the end")
            met = self.here.get(told["seq"]) == (told["count"], told["head"])
            require(met, f"{name} is not met")
        restored = self.outside is None or len(epochs) == 1
        require(
            restored or any(one["epoch"] == epoch for one in self.outside or []),
            "the restore is not in the file of checkpoints",
        )

    def check_verdicts(self) -> None:
        last = {one["subject"]: one for one in self.journal if one["kind"] == "verdict"}
        rows = {one["event"]: one for one in self.lines.get("signature", [])}
        require(rows.keys() == self.signed.keys(), "signatures and verdicts do not pair")
        require(last.keys() <= rows.keys(), "a verdict has no signature")
        for event, row in rows.items():
            entry = last.get(event)
            if entry is None:
                require(self.signed[event] == 1, f"signature {event} has no verdict")
                continue
            same = json.loads(entry["body"]) == {key: row[key] for key in VERDICT}
            require(same and entry["seq"] == row["seq"], f"the verdict on {event} is another")

    def check_aside(self) -> None:
        entries = {one["subject"]: one for one in self.journal if one["kind"] == "set aside"}
        for row in self.lines.get("set aside", []):
            text = json.loads(row["text"]) if row["escaped"] else row["text"]
            digest = hashlib.sha256(text.encode(errors="surrogatepass")).hexdigest()
            require(digest == row["hash"], f"set aside {row['id']} was altered")
            entry = entries.pop(row["hash"], None)
            if entry is None:
                old = not self.journal or row["received_at"] < self.journal[0]["at"]
                require(old, f"set aside {row['id']} is not in the journal")
            else:
                same = json.loads(entry["body"]) == {key: row[key] for key in ("reason", "tablet")}
                require(same, f"set aside {row['id']} has another reason")
        require(not entries, "something set aside is gone")

    def check_tablets(self) -> None:
        rows = {one["id"]: one for one in self.lines.get("tablet", [])}
        require({*self.own, *self.tablet_keys} <= rows.keys(), "a tablet is missing")
        for tablet, row in rows.items():
            require(row["key"] == self.tablet_keys.get(tablet), f"tablet {tablet} has another key")
            numbers = self.own.get(tablet, {})
            contiguous = 0
            while contiguous + 1 in numbers:
                contiguous += 1
            ends = (contiguous, max(numbers, default=0))
            require((row["contiguous"], row["highest"]) == ends, f"tablet {tablet} miscounts")
            for what in ("enrolled", "revoked", "forked"):
                at = [
                    one["at"]
                    for one in self.journal
                    if (one["kind"], one["subject"]) == (f"tablet {what}", tablet)
                ]
                require(row[f"{what}_at"] == (at[0] if at else None), f"tablet {tablet}: {what}")

    def shop_signed(self, body: Json, name: str) -> None:
        public = self.shop_keys.get(body["key"])
        require(public is not None, f"{name} is signed by an unknown key")
        text = jcs({key: value for key, value in body.items() if key != "signature"})
        key = ed25519.Ed25519PublicKey.from_public_bytes(base64.b64decode(str(public)))
        try:
            key.verify(base64.b64decode(body["signature"]), text.encode())
        except InvalidSignature:
            raise Wrong(f"{name} is not signed by the shop") from None


def require(holds: bool, otherwise: str) -> None:
    if not holds:
        raise Wrong(otherwise)


def jcs(value: Any) -> str:
    """RFC 8785 for what dumps hold: text, whole numbers, truth, nothing, lists and objects."""
    if isinstance(value, dict):
        keys = sorted(value, key=lambda key: key.encode("utf-16-be"))
        return "{" + ",".join(f"{jcs(key)}:{jcs(value[key])}" for key in keys) + "}"
    if isinstance(value, list):
        return "[" + ",".join(jcs(one) for one in value) + "]"
    if isinstance(value, float):
        return repr(int(value)) if value.is_integer() else repr(value)
    return json.dumps(value, ensure_ascii=False)


def sha(text: str) -> str:
    return hashlib.sha256(text.encode()).hexdigest()


def corrected(event: Json) -> str:
    at = dt.datetime.fromisoformat(event["at"])
    with contextlib.suppress(OverflowError):
        at += dt.timedelta(milliseconds=event.get("clock_offset") or 0)
    return at.strftime("%Y-%m-%dT%H:%M:%S.%fZ").rjust(27, "0")


def p256(key: str, text: str, signature: str) -> bool:
    raw = base64.b64decode(signature)
    der = encode_dss_signature(int.from_bytes(raw[:32]), int.from_bytes(raw[32:]))
    point = ec.EllipticCurvePublicKey.from_encoded_point(ec.SECP256R1(), base64.b64decode(key))
    try:
        point.verify(der, text.encode(), ec.ECDSA(SHA256()))
    except InvalidSignature:
        return False
    return len(raw) == 64


def key_id(public: str) -> str:
    return hashlib.sha256(base64.b64decode(public)).hexdigest()[:16]


def read_file(path: Path) -> list[Json]:
    """A last line without its end was torn by a power cut."""
    whole = path.read_bytes().rpartition(b"\n")[0] if path.exists() else b""
    return [json.loads(line) for line in whole.split(b"\n") if line]


def read_keys(folder: Path) -> dict[str, str]:
    texts = [path.read_text().strip() for path in folder.glob("signing-*.pub")]
    return {key_id(text): text for text in texts}


if __name__ == "__main__":
    fault = first_fault(Path(sys.argv[1]), Path(sys.argv[2]) if len(sys.argv) > 2 else None)
    sys.exit(fault)
