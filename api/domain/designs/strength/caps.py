"""The highest torque a clamp may get: the least of its rating, its screw and the plate's thread."""

from __future__ import annotations

from dataclasses import dataclass

from api.domain.designs.document import Clamp, Design, Spec
from api.domain.designs.specs import friction_of, thread_of_spec
from api.domain.stores import Stores
from api.mechanics.screws.geometry import Thread
from api.mechanics.screws.limits import tension_at_yield_n
from api.mechanics.screws.stripping import strip_tension_n
from api.mechanics.screws.taper import tapered_arm_m
from api.mechanics.screws.tension import headed_arm_m


@dataclass(frozen=True)
class Cap:
    """The torque at which something gives, and what it is."""

    torque_nm: float
    what: str


def torque_cap(design: Design, spec: Spec, stores: Stores) -> Cap | None:
    """The least of the limits that are known; None where none is."""
    return min(caps(design, spec, stores), key=lambda cap: cap.torque_nm, default=None)


def caps(design: Design, spec: Spec, stores: Stores) -> list[Cap]:
    """Every limit that can be told from the spec, the grease and the plate's material."""
    found = []
    if spec.rated is not None:
        found.append(Cap(spec.rated.torque.value, f"the rating of {spec.id}"))
    thread, friction = thread_of_spec(spec), friction_of(spec, stores)
    arm = None if thread is None or friction is None else _arm_m(spec, thread, friction.low)
    if thread is None or friction is None or arm is None:
        return found
    if spec.strength is not None:
        tension = float(tension_at_yield_n(thread, spec.strength, friction.low))
        found.append(
            Cap(tension * arm, f"the screw, {thread.name} {spec.strength} at 90 % of yield")
        )
    material = stores.materials.get(design.plate.material)
    if spec.engagement is not None and material is not None:
        tension = strip_tension_n(thread, spec.engagement.value, material.yield_mpa * 1e6)
        found.append(
            Cap(
                tension * arm,
                f"the thread in the plate, {spec.engagement.text} engaged in {material.id}",
            )
        )
    return found


def _arm_m(spec: Spec, thread: Thread, mu: float) -> float | None:
    """Torque per newton of screw tension; None for a measured clamp, whose screw is not modelled."""
    match spec.kind:
        case "cone" if spec.half_angle is not None and spec.contact_radius is not None:
            angle_rad, radius_m = spec.half_angle.value, spec.contact_radius.value
            return float(tapered_arm_m(thread, angle_rad, radius_m, mu, mu))
        case "wedge" | "twin":
            return float(headed_arm_m(thread, mu, mu))
        case _:
            return None


def pocket_depth_mm(design: Design, clamp: Clamp) -> float:
    """Depth of the pockets a clamp stands in; 0 on the full plate."""
    depth = 0.0
    for pocket in design.plate.pockets:
        (x, y), (length, width) = pocket.corner, pocket.size
        if x.mm <= clamp.x_mm <= x.mm + length.mm and y.mm <= clamp.y_mm <= y.mm + width.mm:
            depth = max(depth, pocket.depth.mm)
    return depth
