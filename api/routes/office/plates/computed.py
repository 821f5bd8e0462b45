"""The computation of a revision on its page: where it stands, its conclusion, its report."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Literal

from fastapi import APIRouter
from fastapi.responses import JSONResponse, Response

from api.domain.analyses.guide import Analysis
from api.domain.analyses.verdict import Conclusion, conclusion_of
from api.domain.designs import Design, Finding
from api.domain.errors import Clash
from api.domain.people import Action, may
from api.domain.records import Computation, Revision
from api.pictures import findings_parts, report_parts
from api.routes.office.desk import Desk, DeskDep, Posted
from api.routes.office.plates.drawing import scale_words, to_scale
from api.use_cases import analyses, designs
from api.use_cases.analyses import Standing

router = APIRouter()
PENDING = frozenset({"queued", "running"})


@dataclass(frozen=True)
class Stage:
    """What the page says of it; `ask` names the button that has it computed (again)."""

    state: Literal["none", "queued", "running", "done", "failed", "outdated"]
    said: str
    share: float = 0.0
    ask: str = ""
    conclusion: Conclusion | None = None
    pending: bool = False
    computation: Computation | None = None


@router.get("/designs/{code}/{revision}/progress")
def progress(desk: DeskDep, code: str, revision: str) -> Response:
    """Where it stands, for the page to renew itself."""
    stage = stage_of(desk, designs.get_revision(desk.uow, code, revision))[0]
    body = {"pending": stage.pending, "said": stage.said, "share": stage.share}
    return JSONResponse(body, headers={"Cache-Control": "no-store"})


@router.post("/designs/{code}/{revision}/compute")
def compute(desk: DeskDep, code: str, revision: str, form: Posted) -> Response:
    analyses.request_analysis(desk.uow, desk.means, code, revision, desk.person)
    return desk.go(f"/designs/{code}/{revision}", "It is computed with the stores as they are now.")


@router.get("/designs/{code}/{revision}/report")
def report_page(desk: DeskDep, code: str, revision: str) -> Response:
    """The report alone, for paper."""
    found = designs.get_revision(desk.uow, code, revision)
    _, analysis = stage_of(desk, found)
    if analysis is None:
        raise Clash(
            f"{code} revision {revision} has no finished computation to report. "
            "Its page says where it stands.",
            design=code,
        )
    sheet: dict[str, Any] = designs.preview_sheet(desk.uow, found, analysis)
    findings = designs.check_text(desk.uow, found.source, f"{code}-{revision}.toml").findings
    return desk.show(
        "plates/report.html",
        "Plates",
        revision=found,
        analysis=analysis,
        conclusion=conclusion_of(analysis.result),
        drawing=to_scale(found, sheet),
        scale=scale_words(sheet),
        report=parts_of(found, analysis, findings, sheet),
    )


def stage_of(desk: Desk, revision: Revision) -> tuple[Stage, Analysis | None]:
    """What there is to say, and the analysis if it is one of the inputs as they are."""
    standing = analyses.standing_of(desk.uow, desk.means, revision)
    stage = _stage(standing, revision, able=may(desk.person, Action.EDIT_DESIGNS))
    return stage, standing.analysis if stage.state == "done" else None


def parts_of(
    revision: Revision, analysis: Analysis, findings: list[Finding], sheet: dict[str, Any]
) -> dict[str, Any]:
    result = analyses.with_findings(analysis.result, findings)
    return report_parts(result, Design.from_document(revision.document), str(sheet["drawing"]))


def findings_of(analysis: Analysis, findings: list[Finding]) -> dict[str, Any]:
    """What `report/_findings.html` shows, where the figures are not wanted."""
    return findings_parts(analyses.with_findings(analysis.result, findings).checks)


def _stage(standing: Standing, revision: Revision, *, able: bool) -> Stage:
    found = standing.computation
    if found is None:
        said = "No estimate is kept of this revision: it was never computed."
        return Stage("none", said, ask="Have it computed" if able else "")
    if found.state in PENDING:
        said = found.doing if found.state == "running" else "waits for its turn"
        return Stage(found.state, said, found.progress, pending=True, computation=found)
    again = "Have it computed again" if able else ""
    if standing.outdated:
        said = f"{analyses.outdated_words(revision)} What was computed then is not shown."
        return Stage("outdated", said, ask=again, computation=found)
    if standing.analysis is None:
        return Stage("failed", analyses.state_words(found), ask=again, computation=found)
    conclusion = conclusion_of(standing.analysis.result)
    return Stage("done", conclusion.words, 1.0, conclusion=conclusion, computation=found)
