"""Setups that some other tablet has brought to a certain step, sent as that tablet would."""

from __future__ import annotations

import datetime as dt
import json
import uuid
from typing import Any

from api.domain.events import Event, hash_of, parse
from api.domain.steps import select
from tests.browser.enrolling import enrol
from tests.support.net import get, post
from tests.support.script import Tablet

FACTS: dict[str, Any] = {
    "grease_due": False,
    "baseline_due": False,
    "second_touch": ["C3", "C4"],
}


class OtherTablet(Tablet):
    """A tablet without a screen, whose clock is right and whose people work fast."""

    def __init__(self, url: str, *, person: str = "B-02") -> None:
        super().__init__(str(uuid.uuid4()), setup=str(uuid.uuid4()), person=person)
        self.url = url
        self.cookies = enrol(url, self.name, self.key)
        asked = get(f"{url}/api/sync/shop", cookies=self.cookies).raise_for_status()
        self.shop: dict[str, Any] = asked.json()
        self.sent = 0

    def write(self, kind: str, step: str | None = None, /, **data: Any) -> Event:
        self.n += 1
        now = dt.datetime.now(dt.UTC).isoformat(timespec="milliseconds").replace("+00:00", "Z")
        fields = {
            "id": str(uuid.uuid4()),
            "tablet": self.name,
            "n": self.n,
            "prev": self.prev,
            "setup": self.setup,
            "kind": kind,
            "step": step,
            "person": self.person,
            "data": data,
            "at": now,
            "elapsed": self.n * 1000,
            "clock_offset": 0,
            "schema": 2,
            "build": "test",
        }
        text = json.dumps(fields)
        self.prev = hash_of(text)
        self.texts.append(text)
        return parse(text)

    def open_plate(
        self, plate: str, tool: str, indicator: str, facts: dict[str, Any] = FACTS
    ) -> Event:
        sheet = self.sheet_of(plate)
        frozen = {
            "tool": self._item("tools", tool),
            "indicator": self._item("indicators", indicator),
            "greases": [],
            "specs": [],
        }
        about = {
            "plate": plate,
            "design": sheet["design"],
            "revision": sheet["revision"],
            "revision_hash": sheet["hash"],
            "frozen": frozen,
        }
        return self.open(facts, **about)

    def sheet_of(self, plate: str) -> dict[str, Any]:
        info = next(one for one in self.shop["plates"] if one["serial"] == plate)
        wanted = (info["design"], info["revision"])
        sheets: list[dict[str, Any]] = self.shop["sheets"]
        return next(one for one in sheets if (one["design"], one["revision"]) == wanted)

    def send(self) -> None:
        """Push what was written since the last time; every event must be stored."""
        texts = self.texts[self.sent :]
        body = {"tablet": self.name, "build": "test", "events": texts, "sigs": self.sigs(texts)}
        sent = post(f"{self.url}/api/sync/push", body, cookies=self.cookies)
        answer = sent.raise_for_status().json()
        outcomes = [one["outcome"] for one in answer["results"]]
        assert outcomes == ["stored"] * len(texts), answer
        self.sent = len(self.texts)

    def _item(self, register: str, serial: str) -> dict[str, Any]:
        items: list[dict[str, Any]] = self.shop[register]
        return next(one for one in items if one["serial"] == serial)


def order_of(url: str, plate: str = "SAD-20-001") -> list[str]:
    """The clamps in the order in which they are snugged, tightened and re-checked."""
    order: list[str] = OtherTablet(url).sheet_of(plate)["order"]
    return order


def half_done(
    url: str,
    until: str,
    *,
    plate: str = "SAD-20-001",
    tool: str = "T-03",
    indicator: str = "I-01",
    reading: str = "0.01",
    facts: dict[str, Any] = FACTS,
) -> OtherTablet:
    """A setup stored up to, and without, the step `until`."""
    other = OtherTablet(url)
    other.open_plate(plate, tool, indicator, facts)
    for step in select(other.sheet_of(plate)["steps"], facts):
        if step["id"] == until:
            break
        if step["kind"] != "judge":
            other.do(step, reading)
    other.send()
    return other
