"""A tablet without a screen: its disk in memory, its requests held until someone delivers them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from tests.support.invariants import Held
from tests.support.sim.machine import Effects, Machine
from tests.support.sim.writing import Writer

Asked = dict[str, Any]
ON_THE_WIRE = frozenset({"push", "pull", "shop", "session"})
FRESH: dict[str, Any] = {
    "epoch": None,
    "watermark": None,
    "contiguous": 0,
    "checkpoint": None,
    "standing": "in use",
    "after": 0,
    "etag": None,
    "shopVersion": None,
}


@dataclass(slots=True)
class Row:
    """An own event on the tablet's disk."""

    text: str
    outcome: str | None = None


class SimTablet:
    """Whatever is in `rows` and `memory` outlives a crash; `wire` and the machine's state do not."""

    def __init__(self, name: str, machine: Machine) -> None:
        self.writer, self.machine = Writer(name), machine
        self.rows: dict[int, Row] = {}
        self.memory = dict(FRESH)
        self.pulled: dict[int, str] = {}
        self.wire: list[Asked] = []
        self.answered: set[int] = set()
        self.state: dict[str, Any] = {}
        self.writes_left: int | None = None
        self.refuses: str | None = None
        self.restart()

    @property
    def name(self) -> str:
        return self.writer.name

    @property
    def shown(self) -> set[int]:
        return {n for n, row in self.rows.items() if row.outcome is not None}

    @property
    def held(self) -> Held:
        ticked = {n: row.text for n, row in self.rows.items()}
        return Held(self.name, ticked, frozenset(self.state["outbox"]), frozenset(self.shown))

    def tick(self) -> int:
        """The next record, on disk with its number before anything else happens."""
        event = self.writer.next()
        self.rows[event.n] = Row(self.writer.texts[-1])
        self.feed({"type": "appended", "n": event.n})
        return event.n

    def sent(self, ns: list[int]) -> tuple[list[str], list[str | None]]:
        """Texts and signatures of a push."""
        texts = [self.rows[n].text for n in ns]
        return texts, self.writer.sigs(texts)

    def prove(self, text: str) -> str:
        return self.writer.key.sign(text)

    def feed(self, move: dict[str, Any]) -> None:
        self.state, effects = self.machine.feed(self.name, move)
        self._execute(effects)

    def restart(self) -> None:
        """Killed and started again: what was under way is forgotten, what was on disk is known."""
        self.wire, self.refused = [], set[str]()
        shown = sorted(self.shown)
        outbox = sorted(self.rows.keys() - self.shown)
        known = {**self.memory, "outbox": outbox, "acknowledged": shown}
        self.state, effects = self.machine.begin(self.name, known)
        self._execute(effects)

    def dies_in(self, asked: Asked, told: dict[str, Any] | None, writes: int) -> None:
        """The browser is killed while an answer is being written to disk, after so many writes."""
        self.writes_left = writes
        self.answer(asked, told)
        self.writes_left = None
        self.restart()

    def answer(self, asked: Asked, told: dict[str, Any] | None) -> None:
        kind, request = asked["do"], asked["request"]
        if kind == "session":
            self.feed({"type": "session made", "request": request})
        elif kind == "shop":
            news = told and {key: told[key] for key in ("version", "epoch", "start")}
            etag = told["version"] if told else asked["etag"]
            self.feed({"type": "shop answered", "request": request, "etag": etag, "shop": news})
        else:
            self.feed({"type": f"{kind} answered", "request": request, "answer": told})

    def fail(self, asked: Asked, status: int | None = None, code: str | None = None) -> None:
        failure = {"status": status, "code": code, "message": code or "lost"}
        self.feed(
            {"type": f"{asked['do']} failed", "request": asked["request"], "failure": failure}
        )

    def _execute(self, effects: Effects) -> None:
        """As the bench does it: disk writes in the order of the effects."""
        for effect in effects:
            kind = effect["do"]
            if kind in ON_THE_WIRE:
                self.wire.append(effect)
                continue
            if self.writes_left == 0:
                return
            if self.writes_left is not None and kind != "wait":
                self.writes_left -= 1
            if not self._disk_takes(kind):
                continue
            if kind == "mark":
                self._mark(effect)
            elif kind == "restored":
                self._restored(effect)
            elif kind == "keep":
                self.pulled |= {one["seq"]: one["text"] for one in effect["events"]}
                self.memory |= {"after": effect["after"], "epoch": effect["epoch"]}
            elif kind == "stand":
                self.memory["standing"] = effect["standing"]

    def _disk_takes(self, kind: str) -> bool:
        """Whether the disk refuses just this write, or the bench keeps it back after a refusal."""
        if kind == self.refuses:
            self.refuses = None
            self.refused.add(kind)
            return False
        if kind == "mark":
            return "restored" not in self.refused
        return kind != "keep" or not self.refused & {"restored", "keep"}

    def _mark(self, effect: dict[str, Any]) -> None:
        for mark in effect["marks"]:
            self.rows[mark["n"]].outcome = mark["outcome"]
        names = ("epoch", "contiguous", "watermark", "checkpoint")
        self.memory |= {name: effect.get(name) for name in names}

    def _restored(self, effect: dict[str, Any]) -> None:
        for n in effect["resend"]:
            self.rows[n].outcome = None
        if effect["pullAgain"]:
            self.pulled.clear()
            self.memory |= {"after": 0, "contiguous": 0, "watermark": None, "etag": None}
        self.memory["epoch"] = effect["epoch"]
