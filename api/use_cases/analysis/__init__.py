"""From a design to what each torque gives, how far the plate bows and whether the grip holds."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence

from api.domain.analyses.guide import Analysis, Guide
from api.domain.analyses.result import Check, Result, check_of, uncomputed, worst_first
from api.domain.cautions import CAUTIONS
from api.domain.designs.document import Design
from api.domain.designs.findings import Finding
from api.domain.designs.hashing import canonical_json, document_hash
from api.domain.designs.mass import loaded_mass_kg
from api.domain.designs.order import tightening_order
from api.domain.stores import Stores
from api.mechanics.whole.bands import ASSUMED_IN_BANDS
from api.mechanics.whole.one_core import one_core
from api.use_cases.analysis import figures
from api.use_cases.analysis.computing import Computed, Progress, compute
from api.use_cases.analysis.findings import findings as findings_of
from api.use_cases.analysis.ground import ground_of

METHOD = "1"
"""Raised whenever the same inputs may give other figures."""


STILL_COMPUTED = frozenset(
    {
        "unknown-grease",
        "contact-too-high",
        "overlap",
        "engagement-too-long",
        "engagement-too-short",
        "finish-above-torque",
        "torque-above-cap",
        "torque-unusual",
        "unit-slip",
        "no-tool",
        "passes",
        "indicator-too-coarse",
        "read-before-zero",
        "state-never-reached",
    }
)
"""Stops of the checker that leave enough of a design to compute it; the others break its build."""


def inputs_of(design: Design, stores: Stores) -> str:
    """Hash over all that goes into a computation: design, specs, greases, materials and method."""
    ground = ground_of(design, stores)
    greases = {spec.lubricant or "" for spec in ground.specs.values()} & set(stores.greases)
    materials = {design.plate.material, design.part.material}
    materials |= {stop.material for stop in design.stops if stop.material is not None}
    used = {
        "method": METHOD,
        "design": document_hash(design.document),
        "specs": {
            key: stores.specs[key].document
            for key in sorted({clamp.spec for clamp in design.clamps} & set(stores.specs))
        },
        "greases": {key: stores.greases[key].friction.model_dump() for key in sorted(greases)},
        "materials": {
            key: stores.materials[key].model_dump(exclude={"title", "source", "state"})
            for key in sorted(materials & set(stores.materials))
        },
    }
    return hashlib.sha256(canonical_json(used)).hexdigest()


@one_core()
def analyse(
    design: Design, stores: Stores, findings: Sequence[Finding], progress: Progress
) -> Analysis:
    """What was found, with the checker's own findings; what cannot work comes back as a stop.

    A torque no wrench of the stores can set, or one above its limit, stops a design, but it is computed
    all the same: the figures show what is wrong with it.
    """
    checks = [check_of(finding) for finding in findings]
    inputs = inputs_of(design, stores)
    if any(check.level == "stop" and check.code not in STILL_COMPUTED for check in checks):
        return Analysis(
            inputs=inputs,
            method=METHOD,
            result=_bare(design, stores, worst_first(checks)),
            guide=None,
        )
    try:
        done = compute(ground_of(design, stores), progress)
    except ValueError as reason:
        return Analysis(
            inputs=inputs,
            method=METHOD,
            result=_bare(design, stores, worst_first([*checks, _impossible(reason)])),
            guide=None,
        )
    progress("findings and remedies", 0.8)
    result, guide = _whole(design, stores, checks, done)
    progress("done", 1.0)
    return Analysis(inputs=inputs, method=METHOD, result=result, guide=guide)


def _whole(
    design: Design, stores: Stores, checks: list[Check], done: Computed
) -> tuple[Result, Guide]:
    clamps = figures.clamp_results(done.ground, done.found, done.bands)
    points = figures.point_results(design, done.found, done.bands)
    stations = figures.station_results(design, done.found, done.holds)
    told = findings_of(done, clamps, points, stations)
    plan, names = done.found.plan, [clamp.id for clamp in design.clamps]
    cutting = [
        sentence for held in done.holds if held is not None for sentence in held.load.assumed
    ]
    result = Result(
        design=design.code,
        revision=design.revision,
        checks=worst_first([*told, *checks]),
        clamps=clamps,
        order=[names[k] for k in plan.order],
        passes=list(plan.shares),
        pulls=plan.pulls,
        movers_expected=done.movers,
        points=points,
        stations=stations,
        map=figures.map_of(done.found),
        mass_kg=loaded_mass_kg(design, stores),
        time=figures.times_of(design),
        assumed=list(dict.fromkeys([*done.ground.assumed, ASSUMED_IN_BANDS, *cutting])),
        solver=figures.solver_of(done.accuracy),
        cautions=[CAUTIONS],
    )
    return result, figures.guide_of(design, done.found, points)


def _bare(design: Design, stores: Stores, checks: list[Check]) -> Result:
    """What can be said of a design that is not computed."""
    passes = list(design.tightening.passes)
    return uncomputed(checks, design.code, design.revision).model_copy(
        update={
            "order": tightening_order(design),
            "passes": passes,
            "pulls": len(design.clamps) * len(passes),
            "mass_kg": loaded_mass_kg(design, stores),
        }
    )


def _impossible(reason: ValueError) -> Check:
    """A refusal of the mechanics: what is wrong, then what to change, as its message puts them."""
    what, _, fix = str(reason).partition(". ")
    return Check(
        code="cannot-work",
        level="stop",
        subject="design",
        message=what[:1].lower() + what[1:].rstrip("."),
        fix=fix.rstrip(".") or "change the layout so that every clamp has something to press on",
    )
