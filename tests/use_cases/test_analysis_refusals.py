"""What cannot work is told as a stop with a sentence and a fix, and never ends in an exception."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import replace
from typing import Any

import pytest

from api.domain.analyses.guide import Analysis
from api.domain.analyses.result import Check
from api.domain.designs.reading import read_design
from api.domain.designs.writing import write_design
from api.use_cases.analysis import analyse
from tests.support.three_bars import three_bars
from tests.use_cases.analysis_cases import STORES, Document, Sketch, analysed, document, read

SKETCH = Sketch(clamps=(1, 1))


def stops_of(analysis: Analysis) -> dict[str, Check]:
    json.dumps(analysis.model_dump(mode="json"), allow_nan=False)
    return {check.code: check for check in analysis.result.checks if check.level == "stop"}


def assert_nothing_computed(analysis: Analysis) -> None:
    result = analysis.result
    assert (result.solver, result.map, analysis.guide) == (None, None, None)
    assert (result.clamps, result.points, result.stations) == ({}, {}, {})
    assert result.order
    assert result.cautions


def test_a_design_without_faults_is_computed_without_a_stop() -> None:
    analysis = analysed(document(SKETCH))
    assert not stops_of(analysis)
    assert analysis.result.solver is not None
    assert analysis.guide is not None


def idle(found: Document) -> None:
    found["clamp"].append(dict(found["clamp"][0], id="C9", at=["250 mm", "60 mm"]))


def stray(found: Document) -> None:
    found["station"][0]["between"] = ["L1", "R1"]


def far(found: Document) -> None:
    found["stop"][0]["corner"][0] = "0 mm"


def off_line(found: Document) -> None:
    found["clamp"][0]["at"][1] = "40 mm"


@pytest.mark.parametrize(
    ("spoil", "code"),
    [(idle, "idle-clamp"), (stray, "no-clamp"), (far, "no-contact"), (off_line, "not-in-line")],
)
def test_what_presses_on_nothing_is_refused_before_anything_is_computed(
    spoil: Callable[[Document], None], code: str
) -> None:
    found = document(SKETCH)
    spoil(found)
    analysis = analysed(found)
    stop = stops_of(analysis)[code]
    assert stop.message
    assert stop.fix
    assert_nothing_computed(analysis)


def lone_clamp() -> Document:
    """The part behind each clamp is gone, and its stop: the clamp takes the force with its screw."""
    found = document(SKETCH)
    found["station"] = [one for one in found["station"] if one["id"].endswith("1")]
    found["stop"] = [one for one in found["stop"] if one["id"].startswith("L")]
    return found


def test_a_clamp_with_nothing_behind_it_pushes_the_plate_with_its_own_body() -> None:
    analysis = analysed(lone_clamp())
    assert not stops_of(analysis)
    assert any(check.code == "one-sided-clamp" for check in analysis.result.checks)
    assert min(clamp.after_lock_n for clamp in analysis.result.clamps.values()) > 0


def test_stops_stand_before_advice_also_where_nothing_is_computed() -> None:
    found = document(SKETCH)
    found["point"][0]["at"] = found["station"][0]["at"]
    found["receivers"]["at"] = at((60, 60))
    checks = analysed(found).result.checks
    assert [check.level for check in checks][:2] == ["stop", "advice"]
    assert "point-covered" in {check.code for check in checks}


def at(*places_mm: tuple[float, float]) -> list[list[str]]:
    return [[f"{x} mm", f"{y} mm"] for x, y in places_mm]


@pytest.mark.parametrize(
    "places",
    [
        at((60, 60)),
        at((60, 40), (60, 90)),
        at((60, 30), (240, 30)),
        at((30, 30), (100, 30), (30, 100)),
    ],
)
@pytest.mark.parametrize("plate", ["free", "locked"])
def test_receivers_beside_the_middle_of_the_plate_are_refused_because_it_tips(
    places: list[list[str]], plate: str
) -> None:
    found = document(replace(SKETCH, plate=plate))
    found["receivers"]["at"] = places
    analysis = analysed(found)
    stop = stops_of(analysis)["cannot-work"]
    assert "tips" in stop.message
    assert stop.fix == "Spread the receivers so that the plate's middle lies between them"
    assert stop.message[0].islower()
    assert not stop.message.endswith(".")
    assert_nothing_computed(analysis)


def test_on_a_flat_base_one_receiver_beside_the_middle_is_enough() -> None:
    found = document(replace(SKETCH, rest="flat"))
    found["receivers"]["at"] = at((60, 60))
    assert "cannot-work" not in stops_of(analysed(found))


def test_a_pull_too_small_for_the_bow_is_a_stop_that_names_the_receiver() -> None:
    weak = Sketch(clamps=(1, 1, 1), thickness_mm=14, torque_nm=14, pull_kn=0.3)
    found = document(replace(weak, receivers=(0.3, 0.3)))
    found["receivers"]["at"] = at((150, 30), (150, 90), (150, 150), (60, 90), (240, 90))
    stop = stops_of(analysed(found))["leaves-receiver"]
    assert stop.subject.startswith("receiver ")
    assert "pull" in stop.fix


def test_ten_times_that_pull_holds_the_plate_on_every_receiver() -> None:
    strong = Sketch(clamps=(1, 1, 1), thickness_mm=14, torque_nm=14, pull_kn=30)
    found = document(replace(strong, receivers=(0.3, 0.3)))
    found["receivers"]["at"] = at((150, 30), (150, 90), (150, 150), (60, 90), (240, 90))
    assert "leaves-receiver" not in stops_of(analysed(found))


@pytest.mark.parametrize(
    "stiffness", ["0 kN/mm", "-60 kN/mm", "1e12 kN/mm", "1e-9 kN/mm", "nan kN/mm"]
)
def test_an_absurd_stiffness_is_refused_where_it_stands(stiffness: str) -> None:
    found = document(SKETCH)
    found["spec"][0]["stiffness"] = stiffness
    reading = read(found)
    assert reading.design is None
    assert any("stiffness" in stop.field and stop.fix for stop in reading.stops)


@pytest.mark.parametrize("stiffness", ["0.1 kN/mm", "5000 kN/mm"])
def test_the_softest_and_the_stiffest_clamp_that_can_be_written_are_computed(
    stiffness: str,
) -> None:
    found = document(SKETCH)
    found["spec"][0]["stiffness"] = stiffness
    analysis = analysed(found)
    assert analysis.result.solver is not None
    assert not {"cannot-work"} & set(stops_of(analysis))
    for clamp in analysis.result.clamps.values():
        assert 0 <= clamp.after_pass_n[-1] <= 2 * clamp.side_n.usual


def thin(found: Document) -> None:
    found["plate"]["size"] = ["3000 mm", "120 mm", "14 mm"]


def thick(found: Document) -> None:
    found["plate"]["size"][2] = "200 mm"


def holed(found: Document) -> None:
    """A fifth of a millimetre is left under it."""
    found["plate"]["pocket"] = [
        {"corner": ["220 mm", "10 mm"], "size": ["60 mm", "90 mm"], "depth": "19.8 mm"}
    ]


def slivered(found: Document) -> None:
    """Edges that all but meet, in both directions."""
    found["plate"]["pocket"] = [
        {"corner": ["9.7 mm", "9.7 mm"], "size": ["1 mm", "1 mm"], "depth": "5 mm"},
        {"corner": ["240.21 mm", "99.9 mm"], "size": ["1 mm", "1 mm"], "depth": "5 mm"},
    ]


def tiny_pads(found: Document) -> None:
    found["receivers"]["pad"] = {"diameter": "1 mm", "bore": "0.5 mm"}


def faint_pull(found: Document) -> None:
    found["receivers"]["pull"] = "10 N"


@pytest.mark.parametrize("stretch", [thin, thick, holed, slivered, tiny_pads, faint_pull])
@pytest.mark.parametrize("plate", ["free", "locked"])
def test_extremes_that_can_be_written_end_in_finite_figures_or_a_sentence(
    stretch: Callable[[Document], None], plate: str
) -> None:
    found = document(replace(SKETCH, plate=plate))
    stretch(found)
    analysis = analysed(found)
    for stop in stops_of(analysis).values():
        assert stop.message
        assert stop.fix
    if analysis.result.solver is None:
        assert stops_of(analysis)
    else:
        assert analysis.result.solver.reaction_error < 1e-8


PLACES: list[tuple[str, Callable[[Document], Any]]] = [
    ("a torque", lambda found: found["clamp"][0].update(torque="nan N*m")),
    ("a place", lambda found: found["clamp"][0].update(at=["inf mm", "30 mm"])),
    ("a size", lambda found: found["plate"].update(size=["300 mm", "nan mm", "20 mm"])),
    ("a pull", lambda found: found["receivers"].update(pull="inf kN")),
    ("a pass", lambda found: found["tightening"].update(passes=[float("nan"), 1.0])),
    ("a friction", lambda found: found["spec"][0].update(friction=float("inf"))),
]


@pytest.mark.parametrize(("where", "spoil"), PLACES, ids=[where for where, _ in PLACES])
def test_no_number_that_is_none_comes_through_a_file(
    where: str, spoil: Callable[[Document], Any]
) -> None:
    found = document(SKETCH)
    spoil(found)
    assert any(word in write_design(found) for word in ("nan", "inf")), where
    reading = read(found)
    assert reading.design is None
    assert all(stop.message and stop.fix for stop in reading.stops)
    assert reading.stops


def test_a_torque_that_no_wrench_of_the_stores_can_set_stops_the_design_but_is_computed() -> None:
    reading = read_design(three_bars(torque=1.2), "design.toml", STORES)
    assert reading.design is not None
    analysis = analyse(reading.design, STORES, reading.findings, lambda _words, _share: None)
    assert "no-tool" in stops_of(analysis)
    assert analysis.result.clamps["C1"].side_n.usual > 0
    assert analysis.result.map is not None
