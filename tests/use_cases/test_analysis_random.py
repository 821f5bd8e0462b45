"""Any valid design: its computation answers with finite, sensible figures, and more is never less."""

from __future__ import annotations

import json
from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from hypothesis import HealthCheck, Phase, example, given, settings
from hypothesis import strategies as st

from api.domain.analyses.guide import Analysis
from api.domain.analyses.result import Band, Result
from api.mechanics.whole.bands import draw
from api.mechanics.whole.loaded import loaded
from api.mechanics.whole.run import COARSE_M
from api.mechanics.whole.tightening import targets_n
from api.use_cases.analysis.computing import holds_of
from api.use_cases.analysis.problem import assembly_of
from tests.mechanics.plate_cases import Array
from tests.use_cases.analysis_cases import Sketch, analysed, document, ground, shares, sketches

# A design is small enough to read as it comes, so no time is spent on making it smaller.
QUICK = settings(
    max_examples=25,
    deadline=None,
    derandomize=True,
    phases=[Phase.explicit, Phase.generate],
    suppress_health_check=[HealthCheck.too_slow],
)
SLOW = settings(QUICK, max_examples=10)


def ordered(band: Band) -> bool:
    return band.low <= band.usual <= band.high


def assert_sensible(result: Result) -> None:
    """Figures that a computed result can have."""
    for clamp in result.clamps.values():
        assert ordered(clamp.side_n)
        assert clamp.screw_n is not None and ordered(clamp.screw_n)
        assert (
            min(clamp.side_n.low, clamp.screw_n.low, clamp.after_lock_n, *clamp.after_pass_n) >= 0
        )
        assert clamp.after_pass_n[-1] <= 3 * clamp.side_n.usual
    for point in result.points.values():
        assert ordered(point.reading_um)
        low, high = point.limit_um
        within = low <= point.reading_um.low and point.reading_um.high <= high
        assert (point.verdict == "within") == within
    assert result.solver is not None and result.map is not None
    assert result.solver.reaction_error < 1e-9
    assert result.solver.residual < 1e-8
    shape = (len(result.map.y_mm), len(result.map.x_mm))
    assert all(np.shape(heights) == shape for heights in result.map.w_um.values())


def assert_told(analysis: Analysis) -> None:
    """Every finding says what is wrong and what to do; a refusal computes nothing."""
    checks = analysis.result.checks
    ranks = [("stop", "advice", "note").index(check.level) for check in checks]
    assert ranks == sorted(ranks)
    assert all(check.message and check.fix and check.subject for check in checks)
    refused = any(check.code == "cannot-work" for check in checks)
    assert refused == (analysis.result.solver is None) == (analysis.guide is None)
    assert not refused or analysis.result.stops


# Bowed up by its one row, the first balances on two places of the base.
@example(
    sketch=Sketch(
        (2,),
        245.882,
        38.066,
        9.693,
        (0.1216, 0.152, 0.19),
        26.366,
        (0.137, 0.199),
        "flat",
        "locked",
    )
)
@given(sketch=sketches)
@SLOW
def test_any_valid_design_is_computed_to_finite_figures_or_refused_with_a_sentence(
    sketch: Sketch,
) -> None:
    analysis = analysed(document(sketch))
    text = json.dumps(analysis.model_dump(mode="json"), allow_nan=False)
    assert Analysis.model_validate_json(text) == analysis
    assert_told(analysis)
    if analysis.result.solver is not None:
        assert_sensible(analysis.result)


@given(sketch=sketches, more=shares(1.0, 2.0))
@QUICK
def test_more_torque_never_presses_less(sketch: Sketch, more: float) -> None:
    assembly = assembly_of(ground(sketch))
    jacks = tuple(replace(jack, torque_nm=jack.torque_nm * more) for jack in assembly.jacks)
    pulled = replace(assembly, jacks=jacks)
    assert (targets_n(pulled) >= targets_n(assembly)).all()
    assert (draw(pulled).side_n >= draw(assembly).side_n).all()


@given(sketch=sketches, more=shares(1.0, 1.5))
@QUICK
def test_more_friction_never_presses_more(sketch: Sketch, more: float) -> None:
    low, usual, high = sketch.friction
    dry = replace(sketch, friction=(low * more, usual * more, high * more))
    greased, dried = (assembly_of(ground(one)) for one in (sketch, dry))
    assert (targets_n(dried) <= targets_n(greased)).all()
    assert (draw(dried).side_n <= draw(greased).side_n * (1 + 1e-12)).all()


def free_bow_m(sketch: Sketch) -> float:
    """Height range of the free plate at the torques' forces, over its own mean plane."""
    assembly = assembly_of(ground(sketch))
    on = loaded(assembly, COARSE_M)
    target = targets_n(assembly).mean()
    x_m, y_m = (
        grid.ravel()
        for grid in np.meshgrid(
            np.linspace(0, assembly.shape.length_m, 9), np.linspace(0, assembly.shape.width_m, 7)
        )
    )
    height: Array = on.solver.samples(x_m, y_m).value @ on.link_fields.sum(axis=1) * target
    plane = np.column_stack([np.ones(len(x_m)), x_m, y_m])
    return float(np.ptp(height - plane @ np.linalg.lstsq(plane, height)[0]))


@given(sketch=sketches, thicker=shares(1.02, 2.0))
@QUICK
def test_a_thicker_plate_never_bows_more(sketch: Sketch, thicker: float) -> None:
    stiff = replace(sketch, thickness_mm=round(sketch.thickness_mm * thicker, 3))
    assert free_bow_m(stiff) <= free_bow_m(sketch)


@given(
    force_n=st.floats(500, 9000),
    more=shares(1.0, 2.5),
    height_mm=shares(5, 15),
)
@SLOW
def test_more_force_never_holds_less(force_n: float, more: float, height_mm: float) -> None:
    on = ground(Sketch(clamps=(1,), height_mm=height_mm, cut=True))
    for less, greater in zip(
        holds_of(on, [force_n] * 2), holds_of(on, [force_n * more] * 2), strict=True
    ):
        assert less is not None
        assert greater is not None
        assert greater.margins.overall >= less.margins.overall * (1 - 1e-6)
        assert greater.margins.slip >= less.margins.slip * (1 - 1e-6)


@cache
def torqued(torque_nm: float) -> Result:
    return analysed(document(Sketch(torque_nm=torque_nm, cut=True))).result


@pytest.mark.parametrize(("low", "high"), [(6.0, 9.0), (9.0, 13.0)])
def test_more_torque_holds_every_part_better(low: float, high: float) -> None:
    for name, station in torqued(low).stations.items():
        tip, tighter = station.hold.tip, torqued(high).stations[name].hold.tip
        assert tip is not None
        assert tighter is not None
        assert tighter > tip > 0
    for name, clamp in torqued(low).clamps.items():
        assert torqued(high).clamps[name].side_n.usual == pytest.approx(
            clamp.side_n.usual * high / low
        )


def test_the_order_in_which_rows_are_written_does_not_matter() -> None:
    found = document(Sketch(clamps=(1, 2, 1)))
    shuffled = document(Sketch(clamps=(1, 2, 1)))
    for table in ("stop", "station", "clamp"):
        shuffled[table].reverse()
    shuffled["receivers"]["at"].reverse()
    one, other = (analysed(each).result for each in (found, shuffled))
    assert other.order == one.order
    for name, clamp in one.clamps.items():
        assert other.clamps[name].after_pass_n == pytest.approx(clamp.after_pass_n, rel=1e-6)
    for name, point in one.points.items():
        assert other.points[name].state_um == pytest.approx(point.state_um, rel=1e-6, abs=1e-4)
