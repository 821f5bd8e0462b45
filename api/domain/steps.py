"""The plan of a setup: from a revision's layout to the ordered steps, then to the steps due now.

`plan_of` lists every step a revision can ever ask for; it is frozen with the revision at
release. `select` keeps the steps that the facts of one setup call for. The tablet runs the
same `select` (tests/vectors/plan.json fixes both).
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from typing import Any, Literal

StepKind = Literal[
    "clean",
    "free",
    "grease",
    "lock",
    "unlock",
    "zero",
    "read",
    "load",
    "snug",
    "torque",
    "recheck",
    "lift",
    "gap",
    "touch",
    "judge",
    "sign",
    "machine",
    "ease",
    "unload",
]
SubjectType = Literal["clamp", "station", "stop", "receiver", "stud", "plate", "point"]
When = Literal["grease due", "baseline due", "second touch"]


@dataclass(frozen=True)
class Step:
    """One thing to do or record. `target` is in newton metres, `limits` in millimetres.

    `expected_mm` is the estimated reading: low, usual, high.
    """

    id: str
    kind: StepKind
    subject: tuple[SubjectType, str] | None = None
    pass_no: int | None = None
    share: float | None = None
    state: str | None = None
    target_nm: float | None = None
    limits_mm: tuple[float, float] | None = None
    expected_mm: tuple[float, float, float] | None = None
    item: Literal["tool", "indicator", "grease", "hoist"] | None = None
    when: When | None = None
    blocks: tuple[str, ...] = ()

    def to_json(self) -> dict[str, Any]:
        subject = self.subject and {"type": self.subject[0], "id": self.subject[1]}
        target = None if self.target_nm is None else {"value": self.target_nm, "unit": "N*m"}
        limits = self.limits_mm and {"low": self.limits_mm[0], "high": self.limits_mm[1]}
        band = ("low_mm", "usual_mm", "high_mm")
        expected = self.expected_mm and dict(zip(band, self.expected_mm, strict=True))
        return {
            "id": self.id,
            "kind": self.kind,
            "subject": subject,
            "pass": self.pass_no,
            "share": self.share,
            "state": self.state,
            "target": target,
            "limits": limits,
            "expected": expected,
            "unit": {"tool": "N*m", "indicator": "mm"}.get(self.item or ""),
            "item": self.item,
            "when": self.when,
            "blocks": list(self.blocks),
        }


@dataclass(frozen=True)
class Point:
    """An indicator point; limits and estimate are of the reading taken in state `read`."""

    id: str
    zero: str
    read: str
    limits_mm: tuple[float, float]
    expected_mm: tuple[float, float, float] | None = None


@dataclass(frozen=True)
class Layout:
    """What of a revision the plan depends on, in the order things stand on the plate."""

    torques_nm: dict[str, float]
    order: tuple[str, ...]
    stations: tuple[str, ...]
    stops: tuple[str, ...]
    receivers: tuple[str, ...]
    points: tuple[Point, ...]
    passes: tuple[float, ...]
    tighten_locked: bool
    recheck: bool
    lift: bool
    finish_nm: dict[str, float]


def plan_of(layout: Layout) -> list[Step]:
    """Every step this revision can ask for, in order, each naming the kinds it blocks."""
    states = visited(tighten_locked=layout.tighten_locked)
    locking = [*_lift(layout), *_lock(layout)]
    middle = [*_at(layout, states, 0)]
    middle += locking if layout.tighten_locked else _tightening(layout)
    middle += _at(layout, states, 1)
    middle += _tightening(layout) if layout.tighten_locked else locking
    middle += _at(layout, states, 2)
    steps = [
        *_cleaning(layout),
        *(_clamp_step("free", clamp) for clamp in layout.torques_nm),
        *(_grease(clamp) for clamp in layout.torques_nm),
        *_baseline(layout),
        *(Step(f"load/{s}", "load", ("station", s)) for s in layout.stations),
        *(_clamp_step("snug", clamp) for clamp in layout.order),
        *middle,
        *_closing(layout),
    ]
    return [replace(step, blocks=_blocked(steps[i + 1 :], step)) for i, step in enumerate(steps)]


def visited(*, tighten_locked: bool) -> tuple[str, str, str]:
    """The states a loaded plate passes through, in order, after the empty one."""
    if tighten_locked:
        return ("snug free", "snug locked", "torqued locked")
    return ("snug free", "torqued free", "torqued locked")


def select(steps: Iterable[dict[str, Any]], facts: dict[str, Any]) -> list[dict[str, Any]]:
    """The steps (JSON form) that a setup with these facts must go through, in order."""
    return [step for step in steps if _called_for(step, facts)]


def group_of(step: dict[str, Any]) -> str | None:
    """The pass a step belongs to, which is worked in one go; None for all other steps."""
    match step["kind"]:
        case "torque":
            return f"torque/{step['pass']}"
        case "recheck":
            return "recheck"
        case _:
            return None


def _called_for(step: dict[str, Any], facts: dict[str, Any]) -> bool:
    match step["when"]:
        case "grease due":
            return bool(facts["grease_due"])
        case "baseline due":
            return bool(facts["baseline_due"])
        case "second touch":
            return step["subject"]["id"] in facts.get("second_touch", ())
        case _:
            return True


def _blocked(later: list[Step], step: Step) -> tuple[str, ...]:
    kinds = dict.fromkeys(other.kind for other in later)
    return tuple(kind for kind in kinds if kind != step.kind)


def _cleaning(layout: Layout) -> Iterator[Step]:
    yield Step("clean/top", "clean", ("plate", "top"))
    yield Step("clean/underside", "clean", ("plate", "underside"))
    for stop in layout.stops:
        yield Step(f"clean/stop/{stop}", "clean", ("stop", stop))
    for receiver in layout.receivers:
        yield Step(f"clean/receiver/{receiver}", "clean", ("receiver", receiver))
        yield Step(f"clean/stud/{receiver}", "clean", ("stud", receiver))


def _clamp_step(kind: StepKind, clamp: str) -> Step:
    return Step(f"{kind}/{clamp}", kind, ("clamp", clamp))


def _grease(clamp: str) -> Step:
    return replace(_clamp_step("grease", clamp), item="grease", when="grease due")


def _baseline(layout: Layout) -> Iterator[Step]:
    """Readings of the empty, locked plate: when due, or when a point is zeroed in that state."""
    points = layout.points
    always = any(point.zero == "empty locked" for point in points)
    when: When | None = None if always else "baseline due"
    if not points:
        return
    yield Step("lock/empty", "lock", state="empty locked", when=when)
    for point in points:
        subject: tuple[SubjectType, str] = ("point", point.id)
        yield Step(
            f"zero/{point.id}/empty",
            "zero",
            subject,
            state="empty locked",
            item="indicator",
            when=when,
        )
        yield Step(
            f"read/{point.id}/empty locked",
            "read",
            subject,
            state="empty locked",
            item="indicator",
            when=when,
        )
    yield Step("unlock/empty", "unlock", when=when)


def _at(layout: Layout, states: tuple[str, ...], index: int) -> Iterator[Step]:
    """Zeros and readings due in one state.

    A point is read in its own state, where it is judged, and for the record in every torqued
    state that comes after its zero.
    """
    state, before = states[index], ("empty locked", *states[:index])
    for point in layout.points:
        subject: tuple[SubjectType, str] = ("point", point.id)
        judged = point.read == state
        if point.zero in before and (judged or state.startswith("torqued")):
            yield Step(
                f"read/{point.id}/{state}",
                "read",
                subject,
                state=state,
                limits_mm=point.limits_mm if judged else None,
                expected_mm=point.expected_mm if judged else None,
                item="indicator",
            )
        if point.zero == state:
            yield Step(f"zero/{point.id}", "zero", subject, state=state, item="indicator")


def _tightening(layout: Layout) -> Iterator[Step]:
    for number, share in enumerate(layout.passes, start=1):
        for clamp in layout.order:
            yield Step(
                f"torque/{number}/{clamp}",
                "torque",
                ("clamp", clamp),
                pass_no=number,
                share=share,
                target_nm=round(layout.torques_nm[clamp] * share, 6),
                item="tool",
            )
    if layout.recheck:
        for clamp in layout.order:
            yield replace(
                _clamp_step("recheck", clamp), target_nm=layout.torques_nm[clamp], item="tool"
            )


def _lift(layout: Layout) -> Iterator[Step]:
    if layout.lift:
        yield Step("lift", "lift", ("plate", "whole"), item="hoist")


def _lock(layout: Layout) -> Iterator[Step]:
    state = "snug locked" if layout.tighten_locked else "torqued locked"
    yield Step("lock", "lock", state=state)
    for receiver in layout.receivers:
        yield Step(f"gap/{receiver}", "gap", ("receiver", receiver))


def _closing(layout: Layout) -> Iterator[Step]:
    for clamp in layout.order:
        yield replace(
            _clamp_step("touch", clamp),
            target_nm=layout.torques_nm[clamp],
            item="tool",
            when="second touch",
        )
    yield Step("judge", "judge")
    yield Step("sign", "sign")
    yield Step("machine", "machine")
    for clamp, finish_nm in layout.finish_nm.items():
        yield replace(_clamp_step("ease", clamp), target_nm=finish_nm, item="tool")
    yield Step("unload", "unload")
