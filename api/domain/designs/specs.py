"""Clamp specs that a design may use: its own, and by id those of the stores."""

from __future__ import annotations

from pydantic import ValidationError

from api.domain.designs.document import Design, Spec
from api.domain.designs.explain import explain
from api.domain.designs.form.friction import Friction
from api.domain.errors import BadInput
from api.domain.stores import Stores
from api.domain.threads import thread_of
from api.mechanics.screws.geometry import Thread
from api.mechanics.screws.sizes import THREADS

NEEDED: dict[str, tuple[str, ...]] = {
    "cone": ("thread", "strength", "half_angle", "contact_radius", "engagement"),
    "wedge": ("thread", "strength", "half_angle", "engagement"),
    "twin": ("thread", "strength", "half_angle", "engagement"),
    "measured": ("force", "scatter"),
}
EXAMPLES = {
    "thread": 'thread = "M8"',
    "strength": 'strength = "12.9"',
    "half_angle": 'half_angle = "10 deg"',
    "contact_radius": 'contact_radius = "5.5 mm"',
    "engagement": 'engagement = "14 mm"',
    "force": 'force = [["5 N*m", "2.6 kN"], ["10 N*m", "5.4 kN"]]',
    "scatter": 'scatter = "15 %"',
}


def read_spec(document: dict[str, object]) -> Spec:
    """The spec in a stored `[[spec]]` table, or `BadInput` with the first thing wrong."""
    try:
        spec = Spec.model_validate(document)
    except ValidationError as problem:
        error = problem.errors(include_url=False)[0]
        code, message, fix = explain(error)
        field = ".".join(str(part) for part in error["loc"])
        raise BadInput(
            f"The clamp spec is not complete: {message}; {fix}.", code=code, field=field
        ) from None
    for problem_text, fix, field in problems_of(spec):
        raise BadInput(f"The clamp spec is not complete: {problem_text}; {fix}.", field=field)
    return spec


def specs_of(design: Design, stores: Stores) -> dict[str, Spec]:
    """Specs by id; a spec in the design hides one of the same id in the stores."""
    used = {clamp.spec for clamp in design.clamps}
    stored = {
        key: read_spec(stores.specs[key].document) for key in sorted(used & set(stores.specs))
    }
    return stored | {spec.id: spec for spec in design.specs}


def friction_of(spec: Spec, stores: Stores) -> Friction | None:
    """The spec's own friction, or that of its grease; None where neither is known."""
    if spec.friction is not None:
        return spec.friction
    grease = stores.greases.get(spec.lubricant or "")
    if grease is None:
        return None
    return Friction(grease.friction.low, grease.friction.usual, grease.friction.high)


def thread_of_spec(spec: Spec) -> Thread | None:
    return thread_of(spec.thread) if spec.thread else None


def problems_of(spec: Spec) -> list[tuple[str, str, str]]:
    """What a spec of its kind lacks or contradicts: message, fix, field."""
    found = [
        (f"a {spec.kind} spec needs {name}", f"add {EXAMPLES[name]}", name)
        for name in NEEDED[spec.kind]
        if getattr(spec, name) is None
    ]
    if spec.kind != "measured" and spec.lubricant is None and spec.friction is None:
        found.append(
            (
                f"a {spec.kind} spec needs lubricant",
                'add lubricant = "ep-grease" or another of the stores',
                "lubricant",
            )
        )
    if spec.thread is not None and thread_of_spec(spec) is None:
        known = ", ".join(THREADS)
        found.append(
            (f"the thread '{spec.thread}' is not in the table", f"write one of {known}", "thread")
        )
    return found + _curve_problems(spec)


def _curve_problems(spec: Spec) -> list[tuple[str, str, str]]:
    if spec.force is None:
        return []
    if spec.kind != "measured":
        return [
            (
                "only a measured spec has a table of forces",
                'write kind = "measured" or take force out',
                "force",
            )
        ]
    torques, forces = (
        [torque.value for torque, _ in spec.force],
        [force.value for _, force in spec.force],
    )
    if torques != sorted(set(torques)) or forces != sorted(set(forces)):
        return [
            (
                "the measured forces do not rise with the torque",
                "order the pairs by torque, each force higher",
                "force",
            )
        ]
    return []
