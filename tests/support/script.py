"""Writes the events a tablet would send, for tests: chained, numbered, frozen as text."""

from __future__ import annotations

import hashlib
import itertools
import json
import uuid
from collections.abc import Iterator, Sequence
from functools import cache
from typing import Any

from cryptography.hazmat.primitives.asymmetric import ec

from api.domain.events import (
    NO_PREVIOUS,
    SCHEMA,
    Event,
    covered_hash,
    hash_of,
    parse,
    signed_text,
)
from api.domain.steps import Layout, Point, plan_of, select
from api.security.tablet_keys import CURVE, TabletKey

REVISION_HASH = "ab" * 32
NOTHING_DUE: dict[str, Any] = {"grease_due": False, "baseline_due": False, "second_touch": []}
_ids = itertools.count(1)


def layout(**changes: Any) -> Layout:
    """Two clamps, two passes, one point: small enough to read, with every kind of step."""
    fields: dict[str, Any] = {
        "torques_nm": {"C1": 12.0, "C2": 12.0},
        "order": ("C2", "C1"),
        "stations": ("P1",),
        "stops": ("S1",),
        "receivers": ("1",),
        "points": (Point("A", "snug free", "torqued locked", (-0.05, 0.05)),),
        "passes": (0.5, 1.0),
        "tighten_locked": False,
        "recheck": True,
        "lift": False,
        "finish_nm": {},
    }
    return Layout(**{**fields, **changes})


def steps_of(some: Layout) -> list[dict[str, Any]]:
    return [step.to_json() for step in plan_of(some)]


def fixed_id() -> str:
    """A UUID that is the same in every run, so that vectors stay readable."""
    return str(uuid.UUID(int=(0x0192 << 112) | (7 << 76) | (2 << 62) | next(_ids)))


@cache
def key_of(tablet: str) -> TabletKey:
    """The key of the tablet of this name, the same in every run."""
    number = int.from_bytes(hashlib.sha256(tablet.encode()).digest()[:31])
    return TabletKey(ec.derive_private_key(number, CURVE))


class Tablet:
    """One tablet's writing: every call makes the next event of its chain."""

    def __init__(self, name: str, *, setup: str, person: str = "B-01") -> None:
        self.name, self.setup, self.person = name, setup, person
        self.n, self.prev = 0, NO_PREVIOUS
        self.texts: list[str] = []
        self.key = key_of(name)

    def write(self, kind: str, step: str | None = None, /, **data: Any) -> Event:
        self.n += 1
        fields = {
            "id": fixed_id(),
            "tablet": self.name,
            "n": self.n,
            "prev": self.prev,
            "setup": self.setup,
            "kind": kind,
            "step": step,
            "person": self.person,
            "data": data,
            "at": f"2026-11-24T08:{self.n // 60:02d}:{self.n % 60:02d}.000Z",
            "elapsed": self.n * 1000,
            "clock_offset": None,
            "schema": SCHEMA,
            "build": "test",
        }
        text = json.dumps(fields)
        self.prev = hash_of(text)
        self.texts.append(text)
        return parse(text)

    def sigs(self, texts: Sequence[object] | None = None) -> list[str | None]:
        """A signature for each text; what is no text, or half of one, has none."""
        return [self._sig(text) for text in (self.texts if texts is None else texts)]

    def _sig(self, text: object) -> str | None:
        if not isinstance(text, str) or not text.isascii():
            return None
        return self.key.sign(signed_text(hash_of(text)))

    def open(self, facts: dict[str, Any] = NOTHING_DUE, **more: Any) -> Event:
        data = {
            "plate": "SAD-20-001",
            "design": "SAD-20",
            "revision": "B",
            "revision_hash": REVISION_HASH,
            "facts": facts,
            "frozen": {"tool": {"serial": "T-03"}, "indicator": {"serial": "I-01"}},
        }
        return self.write("setup opened", None, **{**data, **more})

    def reading(self, step: str, value: str, entry: int = 1, **more: Any) -> Event:
        _, point, state = step.split("/")
        fields: dict[str, Any] = {
            "point": point,
            "state": state,
            "value": value,
            "unit": "mm",
            "raw": value,
        }
        fields |= {"source": "typed", "indicator": "I-01", "entry": entry}
        return self.write("reading taken", step, **{**fields, **more})

    def tighten(self, step: str, value: str = "12.0") -> Event:
        _, number, clamp = step.split("/")
        fields: dict[str, Any] = {
            "clamp": clamp,
            "pass": int(number),
            "tool": "T-03",
            "after": "clicked",
        }
        return self.write("clamp tightened", step, set={"value": value, "unit": "N*m"}, **fields)

    def moved(self, step: str) -> Event:
        clamp = step.split("/")[-1]
        setting = {"value": "12.0", "unit": "N*m"}
        return self.write("clamp moved on re-check", step, clamp=clamp, tool="T-03", set=setting)

    def do(self, step: dict[str, Any], reading: str = "0.03") -> Event:
        """Answer a step the ordinary way."""
        match step["kind"]:
            case "read":
                return self.reading(step["id"], reading)
            case "torque":
                return self.tighten(step["id"], f"{step['target']['value']:.1f}")
            case "sign":
                return self.sign([])
            case _:
                return self.write("step done", step["id"])

    def sign(self, covered: list[Event], **more: Any) -> Event:
        texts = {json.loads(text)["id"]: text for text in self.texts}
        events = [event.id for event in covered] or list(texts)
        hashes = [hash_of(texts[one]) for one in events if one in texts]
        covers = {"events": events, "hash": covered_hash(hashes)}
        data = {"meaning": "tightened by", "covers": covers, "sealed": "c2VhbGVk", "key": "k1"}
        return self.write("signed", "sign", **{**data, **more})

    def work(
        self,
        steps: list[dict[str, Any]],
        until: str | None = None,
        facts: dict[str, Any] = NOTHING_DUE,
    ) -> Iterator[Event]:
        """Answer the selected steps in order, up to but without `until`."""
        for step in select(steps, facts):
            if step["id"] == until:
                return
            if step["kind"] != "judge":
                yield self.do(step)
