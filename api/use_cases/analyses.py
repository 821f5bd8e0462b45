"""Computations of designs: asked for on load and release, made one after the other, kept by inputs."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from contextlib import suppress
from dataclasses import dataclass, replace
from time import monotonic
from typing import Any

from api.domain.analyses.guide import Analysis
from api.domain.analyses.result import Result, check_of, worst_first
from api.domain.designs import Design, Finding, read_design
from api.domain.errors import AnalysisEnded, AnalysisFailed, Clash, NotFound, Unavailable
from api.domain.people import Action, Person, require
from api.domain.records import Computation, Revision
from api.domain.stores import Stores
from api.use_cases.ports import Means, Progress, UnitOfWork
from api.use_cases.stores import everything

SILENT_AFTER = dt.timedelta(seconds=60)
WRITE_EVERY_S = 0.4
UNREADABLE = "Its stored text cannot be read by this version; load the file again."


@dataclass(frozen=True)
class Job:
    """A computation that was begun, with what goes into it."""

    computation: Computation
    design: Design
    stores: Stores


@dataclass(frozen=True)
class Standing:
    """What became of a revision's computation; a draft's is outdated once what went in has changed."""

    computation: Computation | None
    outdated: bool = False

    @property
    def analysis(self) -> Analysis | None:
        stored = self.computation.result if self.computation else None
        return None if stored is None else Analysis.model_validate(stored)


def silent(words: str, share: float) -> None:
    """For those who do not wait."""


def ask(
    uow: UnitOfWork, means: Means, revision: Revision, stores: Stores, *, again: bool = False
) -> Computation:
    """The computation of the revision with these stores, queued if there was none.

    With `again` one that failed is queued anew. Inside the caller's transaction.
    """
    now = means.clock.now()
    inputs = means.analyser.inputs_of(Design.from_document(revision.document), stores)
    found = uow.analyses.get(inputs)
    if found is not None and not (again and found.state == "failed"):
        return found
    uow.analyses.drop(revision.code, revision.revision)
    asked = Computation(
        inputs, means.analyser.method, revision.code, revision.revision, asked_at=now, at=now
    )
    uow.analyses.save(asked)
    return asked


def request_analysis(
    uow: UnitOfWork, means: Means, code: str, revision: str, by: Person
) -> Computation:
    """Has a revision computed with the stores as they are now, once more if that failed."""
    require(by, Action.EDIT_DESIGNS)
    with uow:
        found = _revision(uow, code, revision)
        try:
            asked = ask(uow, means, found, everything(uow), again=True)
        except ValueError as reason:
            raise Clash(f"{_name(found)} cannot be computed. {UNREADABLE}") from reason
        uow.commit()
    return asked


def waits(uow: UnitOfWork, means: Means) -> bool:
    """Whether there is something to take; reads only."""
    with uow:
        return uow.analyses.waits(means.clock.now() - SILENT_AFTER)


def take_next(uow: UnitOfWork, means: Means) -> Job | None:
    """Begins the computation asked for first, or one that was left; nobody else begins the same."""
    with uow:
        asked = uow.analyses.next(means.clock.now() - SILENT_AFTER)
        job = None if asked is None else _begun(uow, means, asked)
        uow.commit()
    return job


def take(uow: UnitOfWork, means: Means, code: str, revision: str) -> Job | None:
    """Begins the computation of this revision here and now; None if it is done already."""
    with uow:
        asked = uow.analyses.of(code, revision)
        if asked is None or asked.state == "done":
            return None
        job = _begun(uow, means, asked)
        uow.commit()
    return job


def carry_out(uow: UnitOfWork, means: Means, job: Job, told: Progress = silent) -> Computation:
    """Computes, writing the progress down now and then, and keeps what comes of it."""
    pen = _Pen(uow, means, job.computation.inputs, told)
    try:
        analysis = means.analyser.analyse(job.design, job.stores, (), pen.write)
    except AnalysisEnded:
        return _end(uow, means, job, state="queued", progress=0.0, doing="")
    except AnalysisFailed as reason:
        return _end(uow, means, job, state="failed", failure=reason.message)
    result = analysis.model_dump(mode="json")
    return _end(uow, means, job, state="done", progress=1.0, doing="", result=result)


def requeue_left(uow: UnitOfWork, means: Means) -> int:
    """Queues again what a dead process has left half done; returns how many there were."""
    with uow:
        left = uow.analyses.running()
        for one in left:
            uow.analyses.save(replace(one, state="queued", progress=0.0, doing=""))
        if left:
            uow.commit()
    return len(left)


def standing_of(uow: UnitOfWork, means: Means, revision: Revision) -> Standing:
    with uow:
        return standing_in(uow, means, revision, everything(uow))


def standing_in(uow: UnitOfWork, means: Means, revision: Revision, stores: Stores) -> Standing:
    """The same inside the caller's transaction."""
    found = uow.analyses.of(revision.code, revision.revision)
    if found is None or revision.state != "draft":
        return Standing(found)
    try:
        inputs = means.analyser.inputs_of(Design.from_document(revision.document), stores)
    except ValueError:
        return Standing(found, outdated=True)
    return Standing(found, outdated=inputs != found.inputs)


def get_result(uow: UnitOfWork, means: Means, code: str, revision: str) -> Result:
    """What was computed, with what the checker says of the file; `Clash` while it is not done."""
    with uow:
        found = _revision(uow, code, revision)
        stores = everything(uow)
        standing = standing_in(uow, means, found, stores)
    if standing.computation is None:
        raise NotFound(f"{_name(found)} was never computed. Have it computed on its page.")
    if standing.outdated:
        raise Clash(f"{outdated_words(found)} Have it computed again on its page.")
    if standing.analysis is None:
        raise Clash(f"{state_words(standing.computation)} Ask again when it is done.")
    return with_findings(standing.analysis.result, findings_of(found, stores))


def findings_of(revision: Revision, stores: Stores) -> list[Finding]:
    """What the checker says of the file with these stores."""
    file = f"{revision.code}-{revision.revision}.toml"
    return read_design(revision.source, file, stores).findings


def with_findings(result: Result, findings: Sequence[Finding]) -> Result:
    """The result with the checker's findings among its own, the worst first."""
    checks = worst_first([*map(check_of, findings), *result.checks])
    return result.model_copy(update={"checks": checks})


def state_words(computation: Computation) -> str:
    """Where a computation stands, as one sentence."""
    name = f"The computation of {computation.design} revision {computation.revision}"
    match computation.state:
        case "queued":
            return f"{name} waits for its turn."
        case "running":
            return f"{name} is still running ({computation.progress * 100:.0f} %)."
        case "failed":
            return f"{name} failed: {computation.failure}"
        case _:
            return f"{name} is done."


def outdated_words(revision: Revision) -> str:
    return f"The stores or the method have changed since {_name(revision)} was computed."


class _Pen:
    """Tells the caller of every progress, and the records of it now and then."""

    def __init__(self, uow: UnitOfWork, means: Means, inputs: str, told: Progress) -> None:
        self._uow, self._means, self._inputs, self._told = uow, means, inputs, told
        self._written_s = -WRITE_EVERY_S

    def write(self, words: str, share: float) -> None:
        self._told(words, share)
        if monotonic() - self._written_s < WRITE_EVERY_S:
            return
        self._written_s = monotonic()
        with suppress(Unavailable), self._uow as uow:
            uow.analyses.advance(self._inputs, share, words, self._means.clock.now())
            uow.commit()


def _begun(uow: UnitOfWork, means: Means, asked: Computation) -> Job | None:
    """Takes what the stores hold now: if that changed since it was asked for, so do the inputs."""
    stores, now = everything(uow), means.clock.now()
    revision = _revision(uow, asked.design, asked.revision)
    try:
        design = Design.from_document(revision.document)
        inputs = means.analyser.inputs_of(design, stores)
    except ValueError:
        uow.analyses.save(replace(asked, state="failed", failure=UNREADABLE, at=now))
        return None
    if inputs != asked.inputs:
        uow.analyses.drop(asked.design, asked.revision)
    begun = replace(asked, inputs=inputs, method=means.analyser.method, at=now)
    begun = replace(begun, state="running", progress=0.0, doing="starting", failure=None)
    uow.analyses.save(begun)
    return Job(begun, design, stores)


def _end(uow: UnitOfWork, means: Means, job: Job, **outcome: Any) -> Computation:
    """Keeps the outcome, unless the draft was replaced meanwhile."""
    ended = replace(job.computation, at=means.clock.now(), **outcome)
    with uow:
        if uow.analyses.get(ended.inputs) is not None:
            uow.analyses.save(ended)
            uow.commit()
    return ended


def _revision(uow: UnitOfWork, code: str, revision: str) -> Revision:
    found = uow.designs.get(code, revision)
    if found is None:
        raise NotFound(f"There is no revision {revision!r} of a design {code!r}.", design=code)
    return found


def _name(revision: Revision) -> str:
    return f"{revision.code} revision {revision.revision}"
