"""What a result says in words: order, passes, mass, times, and the computation's own checks."""

from __future__ import annotations

from collections import Counter

from api.domain.analyses.result import Check, Result
from api.domain.designs import Design
from api.domain.designs.findings import LEVELS
from api.pictures import words as w

MANY = {"advice": "pieces of advice"}


def facts(result: Result, design: Design) -> list[tuple[str, str]]:
    """Name and value of everything that is not in a table; nothing for what is not known."""
    found: list[tuple[str, str]] = []
    if result.order:
        found += [("Order", ", ".join(result.order)), ("Passes", _passes(result, design))]
        found.append(("Pulls of the wrench", str(result.pulls)))
    if result.solver is not None:
        found.append(("Expected to move in the re-check", _movers(result)))
    if result.mass_kg is not None:
        found.append(("Loaded mass", f"{w.plain(result.mass_kg, 1)} kg"))
    named = (
        ("One cycle", result.time.cycle_s),
        ("Per part", result.time.per_part_s),
        ("Walk-away", result.time.walk_away_s),
    )
    return found + [(name, w.minutes(time)) for name, time in named if time is not None]


def solver_line(result: Result) -> str:
    """The computation's checks of itself in one plain line."""
    own = result.solver
    if own is None:
        return ""
    unknowns = f"{own.dofs:,}".replace(",", " ")
    return (
        f"{unknowns} unknowns; contact settled in {w.counted(own.contact_steps, 'step')}; "
        f"equations met to {own.residual:.0e}, reactions balanced to {own.reaction_error:.0e}; "
        f"a grid twice as fine would change heights by about {_percent(own.mesh_change)}."
    )


def counted_findings(checks: list[Check]) -> str:
    """1 stop, 2 pieces of advice and 1 note."""
    amounts = Counter(check.level for check in checks)
    told = [
        w.counted(
            amounts[level], "piece of advice" if level == "advice" else level, MANY.get(level, "")
        )
        for level in LEVELS
        if amounts[level]
    ]
    return w.listed(told) if told else "nothing to say against it"


def _passes(result: Result, design: Design) -> str:
    shares = w.listed(w.trimmed(part * 100, 1) for part in result.passes)
    return f"{shares} % of full torque, plate {design.tightening.plate}"


def _movers(result: Result) -> str:
    if not result.movers_expected:
        return "no clamp"
    return f"{result.movers_expected} of {w.counted(len(result.clamps), 'clamp')}"


def _percent(part: float) -> str:
    return f"{w.trimmed(part * 100, 1)} %" if part >= 0.0005 else "less than 0.1 %"
