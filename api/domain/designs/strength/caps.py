"""The highest torque a clamp may get: the least of its rating, its screw and the plate's thread."""

from __future__ import annotations

from api.domain.designs.document import Clamp, Design, Spec
from api.domain.designs.specs import friction_of, thread_of_spec
from api.domain.designs.strength import screw
from api.domain.designs.strength.screw import Cap
from api.domain.stores import Stores
from api.domain.threads import Thread


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
        tension = screw.tension_at_90_percent_n(thread, spec.strength, friction.low)
        found.append(
            Cap(tension * arm, f"the screw, {thread.name} {spec.strength} at 90 % of yield")
        )
    material = stores.materials.get(design.plate.material)
    if spec.engagement is not None and material is not None:
        tension = screw.strip_tension_n(thread, spec.engagement.mm, material.yield_mpa)
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
            return screw.cone_torque_per_newton_m(
                thread, mu, spec.half_angle.deg, spec.contact_radius.mm
            )
        case "wedge" | "twin":
            return screw.headed_torque_per_newton_m(thread, mu)
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
