"""One setup in the hands of an operator: writes what the bench would let them write, step by step."""

from __future__ import annotations

from base64 import b64encode
from random import Random
from typing import Any

from api.domain.events import Event, covered_hash, sealing_info
from api.domain.setups import Setup, apply, current, fold
from api.domain.steps import group_of
from api.domain.torque_setting import set_value
from api.use_cases.demo import gauge, wording
from api.use_cases.demo.opening import Opening
from api.use_cases.demo.scene import Scene
from api.use_cases.demo.tablet import Tablet
from api.use_cases.demo.times import Slot

# Seconds at the bench, shortest and longest.
PACE = {
    "clean": (9, 22), "free": (4, 8), "grease": (8, 14), "lock": (25, 45), "unlock": (20, 30),
    "zero": (12, 22), "read": (14, 26), "load": (19, 32), "snug": (5, 9), "torque": (6, 11),
    "recheck": (5, 9), "lift": (70, 130), "gap": (10, 18), "touch": (7, 12), "judge": (120, 420),
    "sign": (9, 20), "machine": (60, 140), "ease": (6, 10), "unload": (210, 330),
}  # fmt: skip
AFTER = {"click": "clicked", "slip": "slipped", "reading": "read"}
ENDINGS = {"rejected": "reject", "reworked": "rework", "accepted": "accept"}
SOURCES = {"dial": ("typed", "dial"), "lever": ("typed",)}
WRONG_PIN = "4000"


class Run:
    """The setup as its tablet folds it, and the pen to go on with."""

    def __init__(self, scene: Scene, slot: Slot, tablet: Tablet, person: str) -> None:
        self.scene, self.slot, self.tablet, self.person = scene, slot, tablet, person
        self.random = Random(f"{scene.seed}/{slot.n}")  # noqa: S311 not for secrets
        self.stories = set(slot.stories)
        opening = Opening(scene, slot, self.random)
        self.sheet, self.tool, self.indicator = opening.sheet, opening.tool, opening.indicator
        second = bool(opening.sheet.get("countersign"))
        self.setup = Setup(opening.setup_id(tablet), plan=opening.plan, countersign=second)
        self.events: list[Event] = []
        self.hashes: list[str] = []
        self.verdicts: dict[str, Any] = {}
        self.nth = scene.count(slot.plate)
        self.write("setup opened", None, opening.data, seconds=self.random.uniform(20, 60))

    def write(
        self,
        kind: str,
        step: str | None,
        data: dict[str, Any],
        *,
        seconds: float,
        person: str | None = None,
    ) -> Event:
        self.tablet.pass_time(seconds)
        event, event_hash = self.tablet.write(
            self.setup.id, kind, step, person or self.person, data
        )
        self.events.append(event)
        self.hashes.append(event_hash)
        apply(self.setup, event, self.verdicts)
        return event

    def told(self, story: str) -> bool:
        """True once, when the story is still to be told."""
        due = story in self.stories
        self.stories.discard(story)
        return due

    def step(self) -> dict[str, Any] | None:
        step_id = current(self.setup)
        return None if step_id is None else self.setup.step(step_id)

    def one_of(self, texts: tuple[str, ...]) -> str:
        return self.random.choice(texts)

    def seconds(self, kind: str) -> float:
        return self.random.uniform(*PACE[kind])

    def answer(self, step: dict[str, Any]) -> None:
        """Does what the step asks for."""
        match step["kind"]:
            case "torque" | "ease":
                self._tighten(step)
            case "recheck":
                self._recheck(step)
            case "read":
                self._read(step)
            case "judge":
                self._judge()
            case "sign":
                self.sign()
            case _:
                self._done(step)

    def sign(self) -> Event:
        pin = WRONG_PIN if self.told("wrong PIN") else self.scene.pins[self.person]
        data = self._signature("tightened by", pin, self.person)
        return self.write("signed", "sign", data, seconds=self.seconds("sign"))

    def countersign(self, person: str) -> None:
        data = self._signature("checked by", self.scene.pins[person], person)
        self.write("countersigned", None, data, seconds=self.random.uniform(40, 90), person=person)

    def learn_verdicts(self) -> None:
        """Folds anew with what the server thinks of the signatures."""
        found = self.scene.uow.signatures.of_setup(self.setup.id)
        self.verdicts = {one.event: one.verdict for one in found}
        if "refused" in self.verdicts.values():
            self.setup = fold(
                self.setup.id,
                self.sheet["steps"],
                self.events,
                self.verdicts,
                countersign=self.setup.countersign,
            )

    def correct(self) -> tuple[str, dict[str, Any]]:
        """A reading's event to correct, and the value that is meant: one mark nearer to nought."""
        reading = self.random.choice([one for one in self.setup.readings.values() if one.final])
        final = reading.final
        assert final is not None  # noqa: S101 chosen for it
        marks = round(float(final.value) / self.indicator.graduation)
        value = gauge.in_marks(marks - (1 if marks > 0 else -1), self.indicator.graduation)
        return final.event, {"value": value, "unit": final.unit, "raw": value, "source": "typed"}

    def _signature(self, meaning: str, pin: str, person: str) -> dict[str, Any]:
        covered = covered_hash(self.hashes)
        info = sealing_info(self.setup.id, covered, person, meaning, self.tablet.id)
        sealed = self.scene.sealer.seal(pin.encode(), info)
        return {
            "meaning": meaning,
            "covers": {"events": [event.id for event in self.events], "hash": covered},
            "sealed": b64encode(sealed).decode(),
            "key": self.scene.sealer.key_id,
        }

    def _tighten(self, step: dict[str, Any]) -> None:
        setting = self._setting(step)
        data = {
            "clamp": step["subject"]["id"],
            "pass": step["pass"] or 1,
            "set": setting,
            "tool": self.tool.serial,
            "after": AFTER[self.tool.kind],
        }
        if self.tool.kind == "reading":
            marks = round(float(setting["value"]) / self.tool.graduation) + self.random.choice(
                (0, 0, 1)
            )
            data["shown"] = {
                "value": gauge.in_marks(marks, self.tool.graduation),
                "unit": self.tool.unit,
            }
        self.write("clamp tightened", step["id"], data, seconds=self.seconds(step["kind"]))

    def _recheck(self, step: dict[str, Any]) -> None:
        group = [one["id"] for one in self.setup.plan if group_of(one) == "recheck"]
        late = step["id"] in group[len(group) // 2 :]
        if self.setup.round == 1 and late and self.told("mover"):
            data = {
                "clamp": step["subject"]["id"],
                "tool": self.tool.serial,
                "set": self._setting(step),
            }
            self.write("clamp moved on re-check", step["id"], data, seconds=self.seconds("recheck"))
        else:
            self._done(step)

    def _setting(self, step: dict[str, Any]) -> dict[str, str]:
        return {"value": set_value(step["target"]["value"], self.tool), "unit": self.tool.unit}

    def _read(self, step: dict[str, Any]) -> None:
        second = self.setup.steps[step["id"]].state == "second entry"
        value, reason = self._value(step, second=second)
        data = {
            "point": step["subject"]["id"],
            "state": step["state"],
            "value": value,
            "unit": self.indicator.unit,
            "raw": value,
            "source": self.random.choice(SOURCES[self.indicator.kind]),
            "indicator": self.indicator.serial,
            "entry": 2 if second else 1,
        }
        if second:
            data["reason"] = reason
        self.write("reading taken", step["id"], data, seconds=self.seconds("read"))

    def _value(self, step: dict[str, Any], *, second: bool) -> tuple[str, str]:
        """What is read, and the reason that a second entry gives."""
        last = [one["id"] for one in self.setup.plan if one["limits"]][-1] == step["id"]
        if last and self.stories & ENDINGS.keys():
            value = gauge.beyond_as_read(step, self.indicator, self.random)
            return value, self.one_of(wording.STILL_OUT)
        if last and not second and self.told("misread"):
            return gauge.beyond_as_read(step, self.indicator, self.random), ""
        plate = self.slot.plate
        expected = self.scene.expected(self.sheet)
        shown_mm = self.scene.gauge.shown(plate, self.sheet, expected, step, self.nth, self.random)
        value = gauge.as_read(shown_mm, self.indicator)
        return value, self.one_of(wording.SECOND_ENTRY)

    def _judge(self) -> None:
        judgement = next((word for story, word in ENDINGS.items() if self.told(story)), "accept")
        data = {"judgement": judgement, "reason": self.one_of(wording.JUDGEMENTS[judgement])}
        judge = self.random.choice(self.scene.judges)
        self.write("judged", "judge", data, seconds=self.seconds("judge"), person=judge)

    def _done(self, step: dict[str, Any]) -> None:
        kind = step["kind"]
        data: dict[str, Any] = {}
        if kind == "load":
            data = {"down": True}
        elif kind == "grease":
            clamps = {one["id"]: one["grease"] for one in self.sheet["clamps"]}
            data = {"grease": clamps[step["subject"]["id"]]}
        elif kind in ("recheck", "touch"):
            data = {"moved": False, "tool": self.tool.serial}
        elif kind == "zero":
            data = {"indicator": self.indicator.serial}
        elif kind == "unload":
            scrap = self.random.choice((1, 1, 2)) if self.told("scrap") else 0
            data = {"good": len(self.sheet["stations"]) - scrap, "scrap": scrap}
        self.write("step done", step["id"], data, seconds=self.seconds(kind))
