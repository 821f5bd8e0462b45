"""What a result comes to in a sentence or two, before anyone reads its tables."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from api.domain.analyses.result import Hold, Result

Tone = Literal["stop", "advice", "fine"]


@dataclass(frozen=True)
class Conclusion:
    tone: Tone
    words: str


def conclusion_of(result: Result) -> Conclusion:
    """Every figure behind it is an estimate; nothing here says that a fixture is fit for use."""
    if result.stops:
        return Conclusion(
            "stop", f"It cannot work as it is: {_things(len(result.stops))} to change."
        )
    beyond = [name for name, point in result.points.items() if point.verdict == "beyond"]
    unclear = [name for name, point in result.points.items() if point.verdict == "undecided"]
    weak = [name for name, one in result.stations.items() if _least(one.hold) < 1]
    words = []
    if beyond:
        words.append(f"{_readings(beyond)} estimated beyond the limits.")
    if unclear:
        words.append(
            f"{_readings(unclear)} estimated too near to the limits to tell on which side."
        )
    if weak:
        words.append(f"At {_listed(weak)} the cut asks for more than is estimated to hold.")
    if words:
        return Conclusion("advice", " ".join(words))
    advised = any(check.level == "advice" for check in result.checks)
    return Conclusion("advice" if advised else "fine", _fine(result, advised=advised))


def _fine(result: Result, *, advised: bool) -> str:
    said = [f"Nothing that was computed stops it{'; heed the advice' if advised else ''}."]
    if result.points:
        said.append("Every reading is estimated within its limits.")
    holds = [_least(one.hold) for one in result.stations.values() if one.cut]
    if holds:
        said.append(f"The least estimated hold is {min(holds):.1f} times the cut.")
    return " ".join(said)


def _least(hold: Hold) -> float:
    return min((one for one in (hold.slip, hold.lift, hold.tip) if one is not None), default=1e9)


def _readings(names: Sequence[str]) -> str:
    return (
        f"The reading at {names[0]} is" if len(names) == 1 else f"Readings at {_listed(names)} are"
    )


def _listed(names: Sequence[str]) -> str:
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"


def _things(amount: int) -> str:
    return f"{amount} thing" if amount == 1 else f"{amount} things"
