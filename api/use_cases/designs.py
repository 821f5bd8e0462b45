"""Designs: reading a file with its findings, drafts, releases and withdrawals."""

from __future__ import annotations

from dataclasses import dataclass, replace

from api.domain.analyses.guide import Analysis
from api.domain.designs.document import Design
from api.domain.designs.findings import Finding
from api.domain.designs.hashing import document_hash
from api.domain.designs.reading import Reading, read_design
from api.domain.errors import Clash, NotFound
from api.domain.people import Action, Person, require
from api.domain.records import Revision
from api.domain.sheet import sheet_of
from api.domain.stores import Stores
from api.use_cases import analyses
from api.use_cases.analyses import Standing
from api.use_cases.plates import newest_released
from api.use_cases.ports import Means, UnitOfWork
from api.use_cases.stores import everything


@dataclass(frozen=True)
class Loaded:
    """The stored revision; missing when a finding stopped it, and then nothing was changed."""

    revision: Revision | None
    findings: list[Finding]
    unreadable: bool = False


@dataclass(frozen=True)
class DesignInfo:
    """A design with all its revisions; `newest` is the one the bench works to."""

    code: str
    title: str
    revisions: list[Revision]
    newest: str | None
    plates: list[str]


def check_text(uow: UnitOfWork, text: str | bytes, file: str = "design.toml") -> Reading:
    """What the checker says about a design file; changes nothing."""
    with uow:
        stores = everything(uow)
    return read_design(text, file, stores)


def load_design(
    uow: UnitOfWork, means: Means, text: str | bytes, by: Person, file: str = "design.toml"
) -> Loaded:
    """Stores the file as a draft and has it computed, unless a finding stops it.

    A draft of the same revision is replaced; a released one never changes (`Clash`).
    """
    require(by, Action.EDIT_DESIGNS)
    with uow:
        uow.shop.bump()
        stores = everything(uow)
        reading = read_design(text, file, stores)
        if reading.design is None or reading.stops:
            return Loaded(None, reading.findings, reading.unreadable)
        fresh = _draft(reading.design, text, by, means)
        before = uow.designs.get(fresh.code, fresh.revision)
        if before is not None and before.state != "draft":
            if before.hash == fresh.hash:
                return Loaded(before, reading.findings)
            raise Clash(
                f"Revision {fresh.revision} of {fresh.code} is {before.state} and never changes. "
                "Give the file the next revision.",
                design=fresh.code,
                revision=fresh.revision,
            )
        uow.designs.save(fresh)
        analyses.ask(uow, means, fresh, stores, again=True)
        uow.commit()
    return Loaded(fresh, reading.findings)


def release_revision(
    uow: UnitOfWork, means: Means, code: str, revision: str, by: Person
) -> Revision:
    """Freezes the draft and its sheet; from now on the bench can work to it.

    Raises `Clash` until a computation with the stores as they are has ended without a stop; where
    the stores have changed since, it is asked for anew.
    """
    require(by, Action.EDIT_DESIGNS)
    with uow:
        uow.shop.bump()
        draft = _revision(uow, code, revision)
        refuse_released(draft)
        stores = everything(uow)
        _refuse_stops(draft, stores)
        standing = analyses.standing_in(uow, means, draft, stores)
        missing = _missing(draft, standing)
        if missing is not None:
            analyses.ask(uow, means, draft, stores)
            uow.commit()
            raise Clash(f"{missing} It is computed now; release it when it is done.", design=code)
        refusal = release_refusal(draft, standing)
        if refusal is not None:
            raise Clash(refusal, design=code, revision=revision)
        released = replace(
            draft,
            state="released",
            sheet=sheet_of(Design.from_document(draft.document), stores, standing.analysis),
            released_by=by.badge,
            released_at=means.clock.now(),
        )
        uow.designs.save(released)
        uow.commit()
    return released


def release_refusal(draft: Revision, standing: Standing) -> str | None:
    """Why the draft's computation does not let it be released now, and what to do."""
    missing = _missing(draft, standing)
    if standing.computation is None or missing is not None:
        return f"{missing} Have it computed first."
    said = analyses.state_words(standing.computation)
    if standing.computation.state == "failed":
        return f"{said} Have it computed again on its page."
    if standing.analysis is None:
        return f"{said} Release it when it is done."
    stop = next(iter(standing.analysis.result.stops), None)
    if stop is None:
        return None
    return f"It cannot be released: {_sentence(stop.message)} {_sentence(stop.fix)}"


def _missing(draft: Revision, standing: Standing) -> str | None:
    """Why there is no computation of what would be released."""
    if standing.computation is None:
        return f"{draft.code} revision {draft.revision} is not computed yet."
    return analyses.outdated_words(draft) if standing.outdated else None


def refuse_released(revision: Revision) -> None:
    if revision.state != "draft":
        raise Clash(
            f"Revision {revision.revision} of {revision.code} is {revision.state} already.",
            design=revision.code,
        )


def withdraw_revision(
    uow: UnitOfWork, means: Means, code: str, revision: str, by: Person
) -> Revision:
    """Takes a revision out of use; setups made to it stay as they are."""
    require(by, Action.EDIT_DESIGNS)
    with uow:
        uow.shop.bump()
        before = _revision(uow, code, revision)
        if before.state == "withdrawn":
            raise Clash(f"Revision {revision} of {code} is withdrawn already.", design=code)
        after = replace(
            before, state="withdrawn", withdrawn_by=by.badge, withdrawn_at=means.clock.now()
        )
        uow.designs.save(after)
        uow.commit()
    return after


def list_designs(uow: UnitOfWork) -> list[DesignInfo]:
    with uow:
        return _infos(uow)


def get_design(uow: UnitOfWork, code: str) -> DesignInfo:
    with uow:
        found = next((one for one in _infos(uow) if one.code == code), None)
    if found is None:
        raise NotFound(f"There is no design {code!r}.", design=code)
    return found


def get_revision(uow: UnitOfWork, code: str, revision: str) -> Revision:
    with uow:
        return _revision(uow, code, revision)


def preview_sheet(
    uow: UnitOfWork, revision: Revision, analysis: Analysis | None = None
) -> dict[str, object]:
    """The sheet as it is frozen, or as it would be if the draft were released now."""
    if revision.sheet is not None:
        return revision.sheet
    with uow:
        stores = everything(uow)
    return sheet_of(Design.from_document(revision.document), stores, analysis)


def _refuse_stops(draft: Revision, stores: Stores) -> None:
    stops = [one for one in analyses.findings_of(draft, stores) if one.level == "stop"]
    if stops:
        raise Clash(f"It cannot be released as the stores are now: {stops[0]}", design=draft.code)


def _sentence(words: str) -> str:
    return f"{words[:1].upper()}{words[1:].rstrip('.')}."


def _draft(design: Design, text: str | bytes, by: Person, means: Means) -> Revision:
    return Revision(
        code=design.code,
        revision=design.revision,
        title=design.title,
        state="draft",
        document=design.document,
        source=text if isinstance(text, str) else text.decode("utf-8-sig"),
        hash=document_hash(design.document),
        loaded_by=by.badge,
        loaded_at=means.clock.now(),
    )


def _revision(uow: UnitOfWork, code: str, revision: str) -> Revision:
    found = uow.designs.get(code, revision)
    if found is None:
        raise NotFound(f"There is no revision {revision!r} of a design {code!r}.", design=code)
    return found


def _infos(uow: UnitOfWork) -> list[DesignInfo]:
    by_code: dict[str, list[Revision]] = {}
    for one in uow.designs.all():
        by_code.setdefault(one.code, []).append(one)
    released, plates = newest_released(uow), uow.plates.all()
    return [
        DesignInfo(
            code,
            found[-1].title,
            found,
            released.get(code),
            [plate.serial for plate in plates if plate.design == code],
        )
        for code, found in sorted(by_code.items())
    ]
