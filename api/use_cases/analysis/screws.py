"""Clamps as spreading screws with their friction, wrench and scatter."""

from __future__ import annotations

from api.domain.designs.document import Clamp, Spec
from api.domain.designs.specs import friction_of, thread_of_spec
from api.mechanics.screws.torque_tools import permitted_deviation
from api.mechanics.side_force.cone import Cone
from api.mechanics.side_force.forces import Spreader
from api.mechanics.side_force.measured import measured_through
from api.mechanics.side_force.scatter import log_sigma_of_scatter
from api.mechanics.side_force.twin import Twin
from api.mechanics.side_force.wedge import Wedge
from api.mechanics.whole.assembly import Friction, Jack
from api.use_cases.analysis.ground import Ground

UNKNOWN_FRICTION = Friction(0.10, 0.14, 0.20)
JAW_ON_PLATE = Friction(0.10, 0.15, 0.22)
USUAL_SCATTER = 0.15


def jacks_of(ground: Ground) -> tuple[Jack, ...]:
    """Every clamp of the design, in its order; clamps of one grease share their friction."""
    ids = sorted({clamp.spec for clamp in ground.design.clamps})
    greases = sorted({_grease_of(ground.specs[name]) for name in ids})
    spreaders = {name: spreader_of(ground.specs[name]) for name in ids}
    return tuple(
        _jack(
            ground,
            clamp,
            spreaders[clamp.spec],
            greases.index(_grease_of(ground.specs[clamp.spec])),
            ids.index(clamp.spec),
        )
        for clamp in ground.design.clamps
    )


def _jack(ground: Ground, clamp: Clamp, spreader: Spreader, grease: int, kind: int) -> Jack:
    spec = ground.specs[clamp.spec]
    return Jack(
        x_m=clamp.at[0].value,
        y_m=clamp.at[1].value,
        spreader=spreader,
        torque_nm=clamp.torque_nm,
        friction=_friction(ground, spec),
        base=JAW_ON_PLATE,
        grease=grease,
        kind=kind,
        tool_share=float(permitted_deviation("II", "A", clamp.torque_nm)),
        scatter=_scatter(spec),
    )


def spreader_of(spec: Spec) -> Spreader:
    """The formula of a spec's kind; the specs have been checked for what their kind needs."""
    if spec.kind == "measured":
        pairs = [(torque.value, force.value) for torque, force in spec.force or []]
        return measured_through(pairs)
    thread, angle = thread_of_spec(spec), spec.half_angle
    if thread is None or angle is None:
        raise ValueError(f"Spec {spec.id} lacks its thread or angle; complete it.")
    if spec.kind == "wedge":
        return Wedge(thread, angle.value)
    if spec.kind == "twin":
        return Twin(thread, angle.value)
    if spec.contact_radius is None:
        raise ValueError(f"Spec {spec.id} lacks its contact radius; complete it.")
    return Cone(thread, angle.value, spec.contact_radius.value)


def _grease_of(spec: Spec) -> str:
    return spec.lubricant or f"friction of {spec.id}"


def _friction(ground: Ground, spec: Spec) -> Friction:
    found = friction_of(spec, ground.stores)
    if found is None:
        if spec.kind != "measured":
            ground.assume(f"Friction of {spec.id}: 0.10 to 0.20, since its grease is not known.")
        return UNKNOWN_FRICTION
    if spec.kind != "measured":
        ground.assume(
            f"{spec.id}: the grease's friction ({found.low:g} to {found.high:g}) holds in thread, head, "
            "wedge or cone alike, freshly greased."
        )
    if spec.kind in {"cone", "wedge"}:
        ground.assume(
            f"Jaws slide on the plate with a friction of {JAW_ON_PLATE.usual:g} ({JAW_ON_PLATE.low:g} to "
            f"{JAW_ON_PLATE.high:g}); the screw's grease does not reach there."
        )
    return Friction(found.low, found.usual, found.high)


def _scatter(spec: Spec) -> float | None:
    if spec.kind != "measured":
        return None
    share = USUAL_SCATTER if spec.scatter is None else spec.scatter.value
    return float(log_sigma_of_scatter(share))
