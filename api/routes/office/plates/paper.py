"""The paper sheet of a plate: the plan of its next setup, for the day the tablet is dead."""

from __future__ import annotations

import datetime as dt
from typing import Any

from fastapi import APIRouter
from fastapi.responses import Response

from api.domain.errors import Clash
from api.domain.records import Revision
from api.domain.steps import select
from api.domain.stores import TorqueTool
from api.domain.torque_setting import set_value, suits
from api.routes.office import asking
from api.routes.office.desk import DeskDep
from api.routes.office.formatting import unit
from api.routes.office.plates.drawing import full
from api.routes.office.plates.listing import due_lines
from api.routes.office.plates.plate import released_of
from api.routes.office.plates.qr import qr_svg
from api.routes.office.plates.steps import StepGroup, groups_of, newton_metres, pass_hints, rows_of
from api.use_cases import plates, stores
from api.use_cases.checkpoints import newest_checkpoint
from api.use_cases.plates import PlateInfo

router = APIRouter()
HINTS = {
    "Re-check": "full torque again; one that still turns is a mover and asks for another pass",
    "Locking": "only when no clamp is open",
    "Second touch": "let someone else pick two of these clamps, and touch only those",
    "Indicator": "write sign, value and unit; out of limits: read again, write both and the reason",
}


@router.get("/plates/{serial}/sheet")
def sheet_page(desk: DeskDep, serial: str) -> Response:
    info = plates.get_plate(desk.uow, serial)
    revision = released_of(desk, info)
    if revision is None or revision.sheet is None:
        raise Clash(
            f"Design {info.design} has no released revision, so there is no plan to print.",
            plate=serial,
        )
    form = asking.ask(desk.request.query_params, ("tool",))
    shelf = {
        one.version.key: one
        for one in stores.list_items(desk.uow, "tool")
        if one.item.state == "in use"
    }
    key = asking.choice_of(form, "tool", shelf)
    stored = shelf.get(key or "")
    tool = stored.item if stored and isinstance(stored.item, TorqueTool) else None
    steps = revision.sheet["steps"]
    return desk.show(
        "plates/sheet.html",
        "Plates",
        200 if form.fine else 400,
        form=form,
        info=info,
        revision=revision,
        tool=tool,
        tools=[
            ("", "none yet: targets in N·m"),
            *((name, f"{name}, {one.item.title}") for name, one in shelf.items()),
        ],
        warnings=_refusals(tool, steps, stored.pulls if stored else None),
        drawing=full(revision, revision.sheet),
        groups=_groups(info, revision, tool),
        checkpoint=newest_checkpoint(desk.uow),
        qr=qr_svg(serial, f"QR code of plate {serial}"),
    )


def _groups(info: PlateInfo, revision: Revision, tool: TorqueTool | None) -> list[StepGroup]:
    """The steps this plate's next setup asks for, numbered as in the whole plan."""
    sheet: dict[str, Any] = revision.sheet or {}
    due = due_lines(info, revision)
    facts = {
        "grease_due": any("grease" in line for line in due),
        "baseline_due": any("baseline" in line for line in due),
        "second_touch": [clamp["id"] for clamp in sheet["clamps"]],
    }
    wanted = {step["id"] for step in select(sheet["steps"], facts)}
    rows = [row for row in rows_of(sheet["steps"], _setting(tool)) if row.id in wanted]
    return groups_of(rows, {**pass_hints(sheet["passes"]), **HINTS})


def _setting(tool: TorqueTool | None) -> Any:
    if tool is None:
        return newton_metres
    return lambda step: f"{set_value(step['target']['value'], tool)} {unit(tool.unit)}"


def _refusals(tool: TorqueTool | None, steps: list[dict[str, Any]], pulls: int | None) -> list[str]:
    """Why the bench would refuse this tool today."""
    if tool is None:
        return []
    targets = [step["target"]["value"] for step in steps if step["target"]]
    today = dt.datetime.now().astimezone().date()
    return [f"{one.message}. Choose another tool." for one in suits(tool, targets, today, pulls)]
