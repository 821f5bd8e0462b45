"""Rows that share two stops on one plate: how much force the first keeps when the others follow.

A plate 300 x 30 mm of 68.9 GPa, stops l = 440 mm apart that stay straight across, grip e = 27 mm over
the mid-plane. A row opens every other by G = (l/EBt)(1 + 12 e^2/t^2) per newton on a free plate, by
l/(EBt) on one held flat. With s the own compliance of a row, the first of n keeps
1 - sum_m G/(s + m G), m = 1..n-1.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from api.mechanics.contact.rests import Receivers
from api.mechanics.plate.actions import Push
from api.mechanics.plate.shape import Bar, PlateShape, Rectangle
from api.mechanics.sequence.interaction import Interaction
from api.mechanics.sequence.passes import Run, run_passes
from api.mechanics.whole.assembly import Assembly, End, Link
from api.mechanics.whole.loaded import Loaded, loaded
from tests.mechanics.plate_cases import E_PA
from tests.mechanics.whole_cases import Array, jack

SPAN_M, WIDTH_M, THICK_M, HEIGHT_M = 0.44, 0.30, 0.03, 0.012
ROWS, OWN_M_PER_N = 5, 1.1386066763425255e-8
FLAT_M_PER_N = SPAN_M / (E_PA * WIDTH_M * THICK_M)
FREE_M_PER_N = FLAT_M_PER_N * (1 + 12 * (THICK_M / 2 + HEIGHT_M) ** 2 / THICK_M**2)
CELLS = 4


def row(y_m: list[float], half_m: float, ends_m: tuple[float, float], shape: PlateShape) -> Link:
    """A row whose stops take its force evenly at these places across the plate."""
    pushes = tuple(
        Push(x_m, y, HEIGHT_M, (sign / len(y_m), 0.0), 0.0, 0.0, half_m)
        for x_m, sign in zip(ends_m, (-1.0, 1.0), strict=True)
        for y in y_m
    )
    return Link(pushes, OWN_M_PER_N, (0,), (End(0, (-1.0, 0.0)), End(1, (1.0, 0.0))))


def rows_on(shape: PlateShape, links: tuple[Link, ...], spacing_m: float) -> Loaded:
    links = tuple(replace(each, jacks=(k,)) for k, each in enumerate(links))
    assembly = Assembly(
        shape,
        Receivers((0.1,), (0.1,), 0.02, 0.01, 1e4, everywhere=True),
        links,
        tuple(jack(0.2, 0.1) for _ in links),
        (0.0, 0.0),
        (),
        (),
        tightened_locked=False,
        share_known=True,
        contact_pa_m=1e12,
    )
    return loaded(assembly, spacing_m)


@pytest.fixture(scope="module")
def straight() -> Loaded:
    """Stops that share each row's force over the whole width."""
    shape = PlateShape(SPAN_M, WIDTH_M, THICK_M, E_PA, 0.33, 0.0)
    half = WIDTH_M / CELLS / 2
    across = [(2 * k + 1) * half for k in range(CELLS)]
    link = row(across, half, (0.0, SPAN_M), shape)
    return rows_on(shape, (link,) * ROWS, WIDTH_M / CELLS)


def held_flat(on: Loaded) -> Array:
    """G without its bending."""
    return np.asarray(on.coupling_m_per_n - on.link_loads.T @ on.link_fields)


def tightened(coupling: Array, passes: int = 1) -> Array:
    """Shares of their force the rows keep after each pass in turn."""
    rows = len(coupling)
    together = Interaction(np.full(rows, OWN_M_PER_N), coupling, np.eye(rows))
    run: Run = run_passes(together, np.full(rows, 6000.0), np.ones(passes), np.arange(rows))
    return run.jack_n / 6000.0


def test_the_worked_flexibilities_are_7_607_and_0_7096_nanometres_per_newton() -> None:
    assert pytest.approx(7.607e-9, rel=1e-4) == FREE_M_PER_N
    assert pytest.approx(7.095629737139172e-10, rel=1e-9) == FLAT_M_PER_N


def test_every_row_opens_every_other_alike_on_a_free_plate(straight: Loaded) -> None:
    assert straight.coupling_m_per_n == pytest.approx(np.full((5, 5), FREE_M_PER_N), rel=1e-9)


def test_a_plate_held_flat_only_stretches(straight: Loaded) -> None:
    assert held_flat(straight) == pytest.approx(np.full((5, 5), FLAT_M_PER_N), rel=1e-8)


@pytest.mark.parametrize(("rows", "kept"), [(2, 0.9413372441837211), (5, 0.7835384890884203)])
def test_held_flat_the_first_row_keeps_most_of_its_force(
    straight: Loaded, rows: int, kept: float
) -> None:
    assert tightened(held_flat(straight)[:rows, :rows])[-1, 0] == pytest.approx(kept, rel=1e-7)


def test_held_flat_a_second_pass_brings_every_row_to_98_percent_and_a_third_to_99_9(
    straight: Loaded,
) -> None:
    lowest = tightened(held_flat(straight), passes=3).min(axis=1)
    assert lowest[1] == pytest.approx(0.9803272311209474, rel=1e-7)
    assert lowest[2] == pytest.approx(0.9988, abs=1e-4)


def test_on_a_free_plate_the_first_of_two_rows_keeps_60_percent(straight: Loaded) -> None:
    assert tightened(straight.coupling_m_per_n[:2, :2])[-1, 0] == pytest.approx(
        0.5995007344637566, rel=1e-7
    )


def test_on_a_free_plate_the_first_of_five_rows_ends_loose(straight: Loaded) -> None:
    share = FREE_M_PER_N / (OWN_M_PER_N + np.arange(1, 5) * FREE_M_PER_N)
    assert 1 - share.sum() == pytest.approx(-0.09077, abs=1e-5)
    after = tightened(straight.coupling_m_per_n)
    assert after[-1, 0] == 0.0
    assert after[-1, 4] == pytest.approx(1.0)


@pytest.fixture(scope="module")
def five_places() -> Loaded:
    """Rows at their own places, under stops too stiff across to bend but not along the plate."""
    thin = 0.001
    length_m = SPAN_M + thin
    stops = tuple(
        Bar(Rectangle(x, 0.0, x + thin, WIDTH_M), 0.015, 1e6 * E_PA, 0.33, 0.0)
        for x in (0.0, SPAN_M)
    )
    shape = PlateShape(length_m, WIDTH_M, THICK_M, E_PA, 0.33, 0.0, (), stops)
    half = WIDTH_M / ROWS / 2
    links = tuple(
        row([(2 * k + 1) * half], half, (thin / 2, SPAN_M + thin / 2), shape) for k in range(ROWS)
    )
    return rows_on(shape, links, 0.03)


# Near the stops the plate cannot dish across, so it bends a little less than a beam of E B t^3/12.
def test_rows_under_stiff_stops_bend_the_plate_about_alike_wherever_they_are(
    five_places: Loaded,
) -> None:
    bending = five_places.link_loads.T @ five_places.link_fields / (FREE_M_PER_N - FLAT_M_PER_N)
    assert bending == pytest.approx(np.ones((5, 5)), abs=0.12)
    assert bending.mean() == pytest.approx(0.94, abs=0.01)


def test_all_five_rows_together_open_by_the_closed_form_within_5_percent(
    five_places: Loaded,
) -> None:
    assert five_places.coupling_m_per_n.mean() == pytest.approx(FREE_M_PER_N, rel=0.051)
    assert held_flat(five_places).mean() == pytest.approx(FLAT_M_PER_N, rel=0.031)
