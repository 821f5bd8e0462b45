"""One revision of a design: drawing, findings, data, plan of steps; release and withdrawal."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from typing import Any

from fastapi import APIRouter
from fastapi.responses import Response

from api.domain.designs import Finding
from api.domain.errors import Clash
from api.domain.people import Action, require
from api.domain.records import Revision
from api.routes.office.desk import Desk, DeskDep, Posted
from api.routes.office.forms import Form
from api.routes.office.plates.computed import findings_of, parts_of, stage_of
from api.routes.office.plates.drawing import scale_words, to_scale
from api.routes.office.plates.steps import groups_of, pass_hints, rows_of
from api.use_cases import analyses, designs

router = APIRouter()


@dataclass(frozen=True)
class Stamp:
    """The last thing that happened to the revision, for the title block."""

    word: str
    by: str
    at: dt.datetime


@dataclass(frozen=True)
class Deed:
    """A change that is asked for once more before it is made."""

    title: str
    button: str
    tone: str
    says: tuple[str, ...]


@router.get("/designs/{code}/{revision}")
def revision_page(desk: DeskDep, code: str, revision: str) -> Response:
    found = designs.get_revision(desk.uow, code, revision)
    stage, analysis = stage_of(desk, found)
    sheet: dict[str, Any] = designs.preview_sheet(desk.uow, found, analysis)
    findings = _findings(desk, found)
    rows = rows_of(sheet["steps"])
    by_id = {clamp["id"]: clamp for clamp in sheet["clamps"]}
    return desk.show(
        "plates/revision.html",
        "Plates",
        revision=found,
        sheet=sheet,
        drawing=to_scale(found, sheet),
        scale=scale_words(sheet),
        stamp=_stamp(found),
        stage=stage,
        releasable=found.state == "draft" and analysis is not None and not analysis.result.stops,
        report=analysis and parts_of(found, analysis, findings, sheet),
        findings=findings,
        clamps=[by_id[name] for name in sheet["order"]],
        groups=groups_of(rows, pass_hints(sheet["passes"])),
        steps_total=len(rows),
    )


@router.get("/designs/{code}/{revision}/file")
def file(desk: DeskDep, code: str, revision: str) -> Response:
    """The file as it was loaded."""
    found = designs.get_revision(desk.uow, code, revision)
    name = f"{found.code}-{found.revision}.toml"
    headers = {"Content-Disposition": f'attachment; filename="{name}"', "Cache-Control": "no-store"}
    return Response(found.source, media_type="application/toml; charset=utf-8", headers=headers)


@router.get("/designs/{code}/{revision}/release")
def release_page(desk: DeskDep, code: str, revision: str) -> Response:
    require(desk.person, Action.EDIT_DESIGNS)
    found = designs.get_revision(desk.uow, code, revision)
    designs.refuse_released(found)
    return _confirm(desk, found, _release(found), Form())


@router.post("/designs/{code}/{revision}/release")
def release(desk: DeskDep, code: str, revision: str, form: Posted) -> Response:
    designs.release_revision(desk.uow, desk.means, code, revision, desk.person)
    return desk.go(
        f"/designs/{code}/{revision}",
        f"{code} revision {revision} is released. Tablets fetch it now.",
    )


@router.get("/designs/{code}/{revision}/withdraw")
def withdraw_page(desk: DeskDep, code: str, revision: str) -> Response:
    require(desk.person, Action.EDIT_DESIGNS)
    found = designs.get_revision(desk.uow, code, revision)
    if found.state == "withdrawn":
        raise Clash(f"Revision {revision} of {code} is withdrawn already.", design=code)
    return _confirm(desk, found, _withdraw(found), Form())


@router.post("/designs/{code}/{revision}/withdraw")
def withdraw(desk: DeskDep, code: str, revision: str, form: Posted) -> Response:
    designs.withdraw_revision(desk.uow, desk.means, code, revision, desk.person)
    return desk.go(f"/designs/{code}/{revision}", f"{code} revision {revision} is withdrawn.")


def _release(found: Revision) -> Deed:
    return Deed(
        f"Release {found.code} revision {found.revision}?",
        f"Release revision {found.revision}",
        "main",
        (
            "It never changes again; a change needs a new revision.",
            "Tablets fetch it, and the next setup of every plate of this design follows it.",
            "Setups that are half done keep the revision they were opened with.",
        ),
    )


def _withdraw(found: Revision) -> Deed:
    return Deed(
        f"Withdraw {found.code} revision {found.revision}?",
        f"Withdraw revision {found.revision}",
        "grave",
        (
            "No new setup can be opened with it.",
            "Setups that were made with it stay in the logbook as they are.",
            "A withdrawn revision cannot be released again.",
        ),
    )


def _confirm(desk: Desk, found: Revision, deed: Deed, form: Form) -> Response:
    draft = found.state == "draft"
    stage, analysis = stage_of(desk, found)
    findings = _findings(desk, found)
    standing = analyses.standing_of(desk.uow, desk.means, found)
    return desk.show(
        "plates/confirm.html",
        "Plates",
        revision=found,
        deed=deed,
        form=form,
        findings=findings if draft else None,
        stage=stage if draft else None,
        refusal=designs.release_refusal(found, standing) if draft else None,
        report=analysis and findings_of(analysis, findings),
    )


def _findings(desk: Desk, found: Revision) -> list[Finding]:
    """What the checker says with the stores as they are now."""
    return designs.check_text(
        desk.uow, found.source, f"{found.code}-{found.revision}.toml"
    ).findings


def _stamp(found: Revision) -> Stamp:
    if found.withdrawn_at and found.withdrawn_by:
        return Stamp("Withdrawn", found.withdrawn_by, found.withdrawn_at)
    if found.released_at and found.released_by:
        return Stamp("Released", found.released_by, found.released_at)
    return Stamp("Loaded", found.loaded_by, found.loaded_at)
