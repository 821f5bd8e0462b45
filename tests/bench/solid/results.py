"""What is kept of a case: its description, and its deflections in every state."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

import numpy as np
import numpy.typing as npt

from tests.bench.solid.case import BodyPush, Case, Push
from tests.bench.solid.contact import Rest, bed, settle
from tests.bench.solid.grid import Ints
from tests.bench.solid.loads import pull_row
from tests.bench.solid.model import Model, prepare
from tests.bench.solid.stiffness import weight

WHAT = (
    "Linear elastic solid model, 20-node bricks of about {mesh:g} mm in plan, three through the"
    " plate and two through the bars; bars fused to the plate. mm, N, MPa. Boxes: x from-to, y"
    " from-to, height above the top (bars) or depth below it (pockets). Angles from +x towards +y."
    " Heights of pushes are above the plate's top. A face push is even over a patch wide x high of"
    " an upright bar face; a body push is shear, and an upright traction that varies linearly and"
    " whose couple is force times height, over a square footprint on the top. Deflection is"
    " upward at half the plate's thickness (of the full plate, pockets or not), in um:"
    " free = pushes only, no weight, from the plane that fits the four corners best;"
    " locked = weight, and pulls spread over the bores of the pads, from the unloaded pad plane;"
    " locked and pushed = the same with the pushes. Pads: one-sided, frictionless, annular between"
    " the diameters bore and outer; with base_stiffness_n_mm3 the whole underside but the bores"
    " rests one-sided instead, and the pads only pull. Opening: along both pushes of pair i (pushes"
    " 2i and 2i+1, from 0), per kN in pair j on the free plate, mean over the patches; the diagonal"
    " holds local indentation."
)


def pushes_of(case: Case) -> list[dict[str, Any]]:
    return [{"on": on(push), **asdict(push)} for push in case.pushes]


def on(push: Push) -> str:
    return "body" if isinstance(push, BodyPush) else "face"


def described(case: Case) -> dict[str, Any]:
    whole = asdict(case)
    for key in ("title", "points_mm", "plan_mesh_mm"):
        del whole[key]
    return {**whole, "pushes": pushes_of(case)}


def rounded(values: npt.NDArray[Any], digits: int = 2) -> list[Any]:
    return list((np.round(values, digits) + 0.0).tolist())


def worked(case: Case) -> dict[str, Any]:
    model = prepare(case)
    points = (*case.grid_mm(), *case.points_mm)
    per_newton = model.per_newton()
    pairs = per_newton[:, 0::2] + per_newton[:, 1::2]
    moved = model.free(np.column_stack([model.pushed(), pairs]))
    states = {"free": rounded(model.bow_um(moved[:, 0], points))}
    found: dict[str, Any] = {
        "title": case.title,
        "what": WHAT.format(mesh=case.plan_mesh_mm),
        "case": described(case),
        "unknowns": model.grid.dofs,
        "points_mm": points,
        "deflection_um": states,
        "opening_mm_per_kn": rounded(1000 * pairs.T @ moved[:, 1:], 6),
    }
    if case.pads:
        found["contact"] = locked(model, points, states)
    return found


def locked(
    model: Model, points: tuple[tuple[float, float], ...], states: dict[str, list[Any]]
) -> dict[str, Any]:
    """Adds the locked states, and gives what each pad (or the base) carries."""
    bedding = bed(model)
    down = weight(model.grid, model.case)
    for pad in model.case.pads:
        down = down + pull_row(model.grid, pad)
    contact: dict[str, Any] = {}
    for state, forces in (("locked", down), ("locked and pushed", down + model.pushed())):
        rest = settle(bedding, forces)
        states[state] = rounded(model.deflection_um(rest.moved, points))
        contact[state] = carried(rest, bedding.owner)
    return contact


def carried(rest: Rest, owner: Ints) -> dict[str, Any]:
    touching = np.bincount(owner, rest.press_n > 0) / np.bincount(owner)
    reaction = np.bincount(owner, rest.press_n)
    return {
        "reaction_n": rounded(reaction, 1),
        "part_of_points_touching": rounded(touching, 3),
        "steps": rest.steps,
        "balance_n": float(f"{rest.balance_n:.1e}"),
    }
