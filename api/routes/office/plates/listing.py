"""All plates and all designs on one page."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from typing import get_args

from fastapi import APIRouter
from fastapi.responses import Response
from markupsafe import Markup

from api.domain.plates import PlateState
from api.domain.records import Revision, SetupFilter, SetupSummary
from api.routes.office.desk import Desk, DeskDep
from api.routes.office.formatting import count
from api.routes.office.logbook.words import step_id_words
from api.routes.office.plates.drawing import thumb
from api.use_cases import designs, plates, setups
from api.use_cases.designs import DesignInfo
from api.use_cases.plates import PlateInfo

router = APIRouter()
STATES: tuple[PlateState, ...] = get_args(PlateState)


@dataclass(frozen=True)
class PlateRow:
    info: PlateInfo
    due: list[str]
    where: str
    last: SetupSummary | None


@dataclass(frozen=True)
class DesignBlock:
    code: str
    title: str
    revisions: list[Revision]
    drawing: Markup
    plates: int


@router.get("/plates")
def overview(desk: DeskDep) -> Response:
    known = designs.list_designs(desk.uow)
    infos = plates.list_plates(desk.uow)
    states = Counter(info.state for info in infos)
    return desk.show(
        "plates/list.html",
        "Plates",
        plates=[_row(desk, info, known) for info in infos],
        designs=[_block(desk, design) for design in known],
        tally=[(state, states[state]) for state in STATES if states[state]],
    )


def due_lines(info: PlateInfo, revision: Revision | None) -> list[str]:
    """What the next setup will have to do beside the usual."""
    care = (revision.sheet or {}).get("care", {}) if revision else {}
    lines = []
    if care.get("grease_every") and info.setups_since_grease >= care["grease_every"]:
        lines.append(f"grease is due, {count(info.setups_since_grease, 'setup')} since the last")
    if care.get("baseline_every") and info.setups_since_baseline >= care["baseline_every"]:
        lines.append(
            f"a baseline is due, {count(info.setups_since_baseline, 'setup')} since the last"
        )
    return lines


def newest_of(known: list[DesignInfo], code: str) -> Revision | None:
    """The released revision that the bench works to."""
    design = next((one for one in known if one.code == code), None)
    if design is None:
        return None
    return next((one for one in design.revisions if one.revision == design.newest), None)


def where_words(info: PlateInfo) -> str:
    return f"at {step_id_words(info.open_setup.step)}" if info.open_setup else ""


def _row(desk: Desk, info: PlateInfo, known: list[DesignInfo]) -> PlateRow:
    lines = [f"trouble: {one.what}" for one in info.open_troubles]
    lines += due_lines(info, newest_of(known, info.design))
    last = setups.find_setups(desk.uow, SetupFilter(plate=info.serial), 1, 1).items
    return PlateRow(info, lines, where_words(info), last[0] if last else None)


def _block(desk: Desk, design: DesignInfo) -> DesignBlock:
    shown = newest_of([design], design.code) or design.revisions[-1]
    return DesignBlock(
        design.code,
        design.title,
        list(reversed(design.revisions)),
        thumb(designs.preview_sheet(desk.uow, shown)),
        len(design.plates),
    )
