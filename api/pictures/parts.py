"""Everything a page or a print shows of one result, ready for `report/_analysis.html`."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from markupsafe import Markup

from api.domain.analyses.result import Check, Result, worst_first
from api.domain.cautions import CAUTIONS
from api.domain.designs import Design
from api.domain.designs.findings import Level
from api.pictures import tables as t
from api.pictures.facts import counted_findings, facts, solver_line
from api.pictures.forces import forces
from api.pictures.grips import grips
from api.pictures.maps import LARGE, SMALL, Picture, bow_map, change_map, changes_of, states_of
from api.pictures.order import order_on_plan
from api.pictures.readings import readings
from api.pictures.words import said, sentence

LEVEL_WORDS: dict[Level, str] = {"stop": "Stop", "advice": "Advice", "note": "Note"}


@dataclass(frozen=True)
class Drawn:
    """A picture as markup, with what stands under it."""

    svg: Markup
    title: str
    caption: str


@dataclass(frozen=True)
class Told:
    """A finding in words."""

    level: Level
    word: str
    message: str
    fix: str


def report_parts(result: Result, design: Design, plan_svg: str) -> dict[str, Any]:
    """What the templates of a report name; pictures are empty where there is nothing to draw."""
    lead, others = _maps(design, result)
    return findings_parts(result.checks) | {
        "lead": lead,
        "maps": others,
        "order": _markup(order_on_plan(design, result, plan_svg)) if plan_svg else "",
        "forces": _markup(forces(result)) if result.clamps else "",
        "readings": _markup(readings(result)) if result.points else "",
        "grips": _markup(grips(result)) if any(s.cut for s in result.stations.values()) else "",
        "tables": {
            "readings": t.readings(result, design),
            "heights": t.heights(result),
            "clamps": t.clamps(result),
            "passes": t.passes(result),
            "stations": t.stations(result, design),
            "holds": t.holds(result),
        },
        "facts": facts(result, design),
        "assumed": [sentence(text) for text in result.assumed],
        "solver": solver_line(result),
        "cautions": result.cautions or [CAUTIONS],
    }


def findings_parts(checks: list[Check]) -> dict[str, Any]:
    """The same names where a file gave no design: findings and cautions, and nothing else."""
    nothing = dict.fromkeys(("lead", "order", "forces", "readings", "grips", "solver"), "")
    return nothing | {
        "findings": told(checks),
        "counts": counted_findings(checks),
        "maps": [],
        "tables": {},
        "facts": [],
        "assumed": [],
        "cautions": [CAUTIONS],
    }


def told(checks: list[Check]) -> list[Told]:
    """The findings as sentences, the worst first."""
    return [
        Told(check.level, LEVEL_WORDS[check.level], said(check), sentence(check.fix))
        for check in worst_first(checks)
    ]


def _maps(design: Design, result: Result) -> tuple[Drawn | None, list[Drawn]]:
    """The first large, what the indicators see before the states themselves; then the others."""
    states = states_of(result)
    changes = [pair for pair in changes_of(design) if set(pair) <= set(states)]
    if not states:
        return None, []
    if changes:
        lead = change_map(design, result, *changes[0], LARGE)
    else:
        lead = bow_map(design, result, states[-1], LARGE)
    rest = [change_map(design, result, *pair, SMALL) for pair in changes[1:]]
    rest += [bow_map(design, result, state, SMALL) for state in states]
    return _drawn(lead), [_drawn(each) for each in rest]


def _drawn(picture: Picture) -> Drawn:
    return Drawn(_markup(picture.svg), picture.title, picture.caption)


def _markup(svg: str) -> Markup:
    return Markup(svg)  # noqa: S704 - made by the drawing code, which escapes
