"""What the server holds of a setup, asked through its own API."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from typing import Any

import httpx

from tests.browser.enrolling import reading_cookies
from tests.support.net import get, wait_until

AFTER_SIGNING = {"machine", "unload"}
ANSWERS = {"step done", "clamp tightened", "reading taken", "signed"}


@dataclass(frozen=True)
class Record:
    """One setup as `/api/setups/{id}` tells it."""

    body: dict[str, Any]

    @property
    def events(self) -> list[dict[str, Any]]:
        return [one["event"] for one in self.body["events"]]

    @property
    def kinds(self) -> list[str]:
        return [one["kind"] for one in self.events]

    def of_kind(self, kind: str) -> list[dict[str, Any]]:
        return [one for one in self.events if one["kind"] == kind]

    def of_step(self, step: str) -> list[dict[str, Any]]:
        return [one for one in self.events if one["step"] == step]

    @property
    def answers(self) -> Counter[str]:
        """How often each step was answered."""
        return Counter(one["step"] for one in self.events if one["kind"] in ANSWERS)

    @property
    def planned(self) -> list[str]:
        """Steps up to the signature, without the judgement that only trouble calls for."""
        steps: dict[str, Any] = self.body["state"]["steps"]
        return [step for step in steps if step not in {"judge", *AFTER_SIGNING}]

    @property
    def phase(self) -> str:
        return str(self.body["state"]["phase"])

    @property
    def verdicts(self) -> list[str]:
        return [one["verdict"] for one in self.body["signatures"]]

    @property
    def numbers(self) -> dict[str, list[int]]:
        """The numbers each tablet gave its records, in the server's order."""
        found: dict[str, list[int]] = {}
        for one in self.events:
            found.setdefault(one["tablet"], []).append(one["n"])
        return found


def ask(url: str, path: str) -> httpx.Response:
    return get(url + path, cookies=reading_cookies(url))


def open_setup(url: str, plate: str = "SAD-20-001") -> str:
    """The id of the setup that is on a plate now, once its opening has arrived."""

    def found() -> str | None:
        info = ask(url, f"/api/plates/{plate}").json()
        return info["open_setup"]["id"] if info["open_setup"] else None

    wait_until(lambda: found() is not None, what=f"a setup on {plate}")
    return str(found())


def record(url: str, setup: str) -> Record:
    return Record(ask(url, f"/api/setups/{setup}").raise_for_status().json())


def plate_state(url: str, plate: str = "SAD-20-001") -> str:
    return str(ask(url, f"/api/plates/{plate}").json()["state"])


def wait_for_verdict(url: str, setup: str, verdict: str = "confirmed") -> None:
    """The last signature is judged by the server, after its answer to the tablet."""

    def arrived() -> bool:
        answer = ask(url, f"/api/setups/{setup}")
        return answer.is_success and Record(answer.json()).verdicts[-1:] == [verdict]

    wait_until(arrived, what=f"a {verdict} signature of {setup}")
