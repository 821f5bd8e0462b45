"""What a result comes to in a sentence, before anyone reads its tables."""

from __future__ import annotations

from typing import Any

from api.domain.analyses.result import Check, Hold, Result
from api.domain.analyses.verdict import conclusion_of
from tests.support.analyses import sad_20

STOP = Check(
    code="lifts", level="stop", subject="P3", message="the part can lift", fix="cut slower"
)


def result(**changes: Any) -> Result:
    """Nothing against it, unless the changes say so."""
    _, analysis = sad_20()
    point = analysis.result.points["A"].model_copy(update={"verdict": "within"})
    fine = {"checks": [], "points": {"A": point}}
    return analysis.result.model_copy(update=fine | changes)


def with_verdicts(**verdicts: str) -> Result:
    point = result().points["A"]
    points = {name: point.model_copy(update={"verdict": word}) for name, word in verdicts.items()}
    return result(points=points)


def test_where_nothing_is_found_the_least_hold_is_named() -> None:
    holds = [one.hold for one in result().stations.values() if one.cut]
    least = min(min(x for x in (h.slip, h.lift, h.tip) if x is not None) for h in holds)
    found = conclusion_of(result())
    assert found.tone == "fine"
    assert found.words.startswith("Nothing that was computed stops it.")
    assert f"The least estimated hold is {least:.1f} times the cut." in found.words


def test_advice_is_pointed_at() -> None:
    advice = STOP.model_copy(update={"level": "advice"})
    found = conclusion_of(result(checks=[advice]))
    assert (found.tone, "heed the advice" in found.words) == ("advice", True)


def test_a_stop_comes_before_everything_else() -> None:
    found = conclusion_of(result(checks=[STOP, STOP]))
    assert (found.tone, found.words) == ("stop", "It cannot work as it is: 2 things to change.")


def test_readings_beyond_their_limits_or_too_near_are_named() -> None:
    found = conclusion_of(with_verdicts(A="beyond", B="undecided", C="beyond", D="within"))
    assert found.tone == "advice"
    assert "Readings at A and C are estimated beyond the limits." in found.words
    assert "The reading at B is estimated too near to the limits" in found.words


def test_a_part_the_cut_can_move_is_named() -> None:
    weak = Hold(slip=1.2, lift=0.8, tip=None)
    stations = {
        name: one.model_copy(update={"hold": weak if name == "P3" else one.hold})
        for name, one in result().stations.items()
    }
    found = conclusion_of(result(stations=stations))
    assert found.words == "At P3 the cut asks for more than is estimated to hold."


def test_nothing_is_ever_called_safe() -> None:
    for some in (result(), result(checks=[STOP]), with_verdicts(A="beyond")):
        assert "safe" not in conclusion_of(some).words.lower()
