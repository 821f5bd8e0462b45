"""Solid models of plates with bars (tests/bench/solid made them) as cases for the plate model."""

from __future__ import annotations

import json
from dataclasses import dataclass
from math import cos, radians, sin
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt

from api.mechanics.contact.rests import Receivers, Rests, pulls_of, rests_of
from api.mechanics.contact.settling import Settled, settle
from api.mechanics.plate.actions import Push
from api.mechanics.plate.shape import Bar, PlateShape, Pocket, Rectangle
from api.mechanics.plate.solving import PlateSolver, solver_of

Array = npt.NDArray[np.float64]
FOLDER = Path(__file__).parents[1] / "vectors/solid"
NAMES = sorted(path.stem for path in FOLDER.glob("*.json"))


@dataclass(frozen=True)
class Solid:
    """A case with what the solid model found; lengths in metres, deflections too.

    Receivers that are `everywhere` only pull: the whole underside rests instead.
    """

    shape: PlateShape
    pushes: list[Push]
    force_n: Array
    receivers: Receivers | None
    stiffness_pa_m: float
    at_m: Array
    found_m: dict[str, Array]
    opening_m_per_n: Array | None


def solid(name: str) -> Solid:
    told: dict[str, Any] = json.loads((FOLDER / f"{name}.json").read_text())
    case = told["case"]
    bars = tuple(_bar(bar) for bar in case["bars"])
    opening = told.get("opening_mm_per_kn")
    return Solid(
        shape=_shape(case, bars),
        pushes=[_push(push, bars) for push in case["pushes"]],
        force_n=np.array([push["force_n"] for push in case["pushes"]], dtype=float),
        receivers=_receivers(case["pads"], everywhere=case["base_stiffness_n_mm3"] > 0),
        stiffness_pa_m=_stiffness_pa_m(case),
        at_m=np.array(told["points_mm"]) / 1e3,
        found_m={key: np.array(value) / 1e6 for key, value in told["deflection_um"].items()},
        opening_m_per_n=None if opening is None else np.array(opening) / 1e6,
    )


def free_m(case: Solid, spacing_m: float = 0.025) -> Array:
    """Deflections at the case's points, less the best plane through the plate's corners."""
    solver = solver_of(case.shape, spacing_m)
    loads, _ = solver.push_loads(case.pushes)
    w = solver.deflections(loads @ case.force_n)
    corners = np.array([(x, y) for x in (0, case.shape.length_m) for y in (0, case.shape.width_m)])
    plane = np.linalg.lstsq(_plane(corners), solver.samples(*corners.T).value @ w, rcond=None)[0]
    return np.asarray(solver.samples(*case.at_m.T).value @ w - _plane(case.at_m) @ plane)


def locked_m(case: Solid, *, pushed: bool) -> tuple[Array, Settled]:
    """Deflections at the case's points on pads or base, from their unloaded plane."""
    solver, rests = solver_of(case.shape, 0.025), _rests(case)
    outside = _outside(solver, case, pushed=pushed)
    contact = solver.press_loads(rests.x_m, rests.y_m)
    w = solver.deflections(np.column_stack([outside, contact]))
    flexibility = contact.T @ w[:, 1:] + np.diag(1 / rests.stiffness_n_m)
    motion = _plane(np.column_stack([rests.x_m, rests.y_m]))
    settled = settle(flexibility, contact.T @ w[:, 0], motion, solver.rigid.T @ outside)
    whole = w[:, 0] + w[:, 1:] @ settled.force_n + solver.rigid @ settled.rigid
    return np.asarray(solver.samples(*case.at_m.T).value @ whole), settled


def _rests(case: Solid) -> Rests:
    assert case.receivers is not None
    rests = rests_of(case.receivers, (case.shape.length_m, case.shape.width_m), case.stiffness_pa_m)
    on = (rests.pad < 0) == case.receivers.everywhere
    return Rests(rests.x_m[on], rests.y_m[on], rests.stiffness_n_m[on], rests.pad[on])


def openings_m_per_n(case: Solid) -> Array:
    """How far pair i opens on the free plate per newton in pair j; pushes 2 i and 2 i + 1 are a pair."""
    solver = solver_of(case.shape, 0.025)
    bend, stretch = (loads[:, ::2] + loads[:, 1::2] for loads in solver.push_loads(case.pushes))
    return np.asarray(bend.T @ solver.deflections(bend) + stretch.T @ solver.stretches(stretch))


def _outside(solver: PlateSolver, case: Solid, *, pushed: bool) -> Array:
    assert case.receivers is not None
    x_m, y_m, pull_n = pulls_of(case.receivers)
    loads = solver.press_loads(x_m, y_m) @ pull_n + solver.weight_loads()
    if pushed:
        loads = loads + solver.push_loads(case.pushes)[0] @ case.force_n
    return np.asarray(loads)


def _plane(at_m: Array) -> Array:
    return np.column_stack([np.ones(len(at_m)), at_m])


def _shape(case: dict[str, Any], bars: tuple[Bar, ...]) -> PlateShape:
    length_m, width_m, thickness_m = (size / 1e3 for size in case["size_mm"])
    pockets = tuple(
        Pocket(_rectangle(pocket), pocket["height_mm"] / 1e3) for pocket in case["pockets"]
    )
    material = case["material"]
    return PlateShape(
        length_m,
        width_m,
        thickness_m,
        material["e_mpa"] * 1e6,
        material["nu"],
        material["density_kg_m3"],
        pockets,
        bars,
    )


def _bar(bar: dict[str, Any]) -> Bar:
    material = bar["material"]
    return Bar(
        _rectangle(bar["box"]),
        bar["box"]["height_mm"] / 1e3,
        material["e_mpa"] * 1e6,
        material["nu"],
        material["density_kg_m3"],
    )


def _rectangle(box: dict[str, Any]) -> Rectangle:
    (x0, x1), (y0, y1) = box["x_mm"], box["y_mm"]
    return Rectangle(x0 / 1e3, y0 / 1e3, x1 / 1e3, y1 / 1e3)


def _push(push: dict[str, Any], bars: tuple[Bar, ...]) -> Push:
    angle = radians(push["angle_deg"])
    x_m, y_m, half = push["x_mm"] / 1e3, push["y_mm"] / 1e3, push.get("footprint_mm", 0) / 2e3
    half_x, half_y = half, half
    if push["on"] == "face":
        area = next(
            bar.area
            for bar in bars
            if min(abs(bar.area.x0_m - x_m), abs(bar.area.x1_m - x_m)) < 1e-6
        )
        x_m, half_x, half_y = (area.x0_m + area.x1_m) / 2, area.length_m / 2, push["wide_mm"] / 2e3
    return Push(x_m, y_m, push["height_mm"] / 1e3, (cos(angle), sin(angle)), 0.0, half_x, half_y)


def _stiffness_pa_m(case: dict[str, Any]) -> float:
    if case["base_stiffness_n_mm3"] > 0:
        return float(case["base_stiffness_n_mm3"]) * 1e9
    return float(case["pads"][0]["stiffness_n_mm3"]) * 1e9 if case["pads"] else 0.0


def _receivers(pads: list[dict[str, Any]], *, everywhere: bool) -> Receivers | None:
    if not pads:
        return None
    return Receivers(
        tuple(pad["x_mm"] / 1e3 for pad in pads),
        tuple(pad["y_mm"] / 1e3 for pad in pads),
        pads[0]["outer_mm"] / 2e3,
        pads[0]["bore_mm"] / 2e3,
        pads[0]["pull_n"],
        everywhere,
    )
