"""Designs: reading a file with its findings, drafts, releases and withdrawals."""

from __future__ import annotations

from dataclasses import dataclass, replace

from api.domain.designs.document import Design
from api.domain.designs.findings import Finding
from api.domain.designs.hashing import document_hash
from api.domain.designs.reading import Reading, read_design
from api.domain.errors import Clash, NotFound
from api.domain.people import Action, Person, require
from api.domain.records import Revision
from api.domain.sheet import sheet_of
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
    """Stores the file as a draft, unless a finding stops it.

    A draft of the same revision is replaced; a released one never changes (`Clash`).
    """
    require(by, Action.EDIT_DESIGNS)
    with uow:
        uow.shop.bump()
        reading = read_design(text, file, everything(uow))
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
        uow.commit()
    return Loaded(fresh, reading.findings)


def release_revision(
    uow: UnitOfWork, means: Means, code: str, revision: str, by: Person
) -> Revision:
    """Freezes the draft and its sheet; from now on the bench can work to it."""
    require(by, Action.EDIT_DESIGNS)
    with uow:
        uow.shop.bump()
        draft = _revision(uow, code, revision)
        if draft.state != "draft":
            raise Clash(f"Revision {revision} of {code} is {draft.state} already.", design=code)
        stores = everything(uow)
        stops = read_design(draft.source, f"{code}-{revision}.toml", stores).stops
        if stops:
            raise Clash(f"It cannot be released as the stores are now: {stops[0]}", design=code)
        released = replace(
            draft,
            state="released",
            sheet=sheet_of(Design.from_document(draft.document), stores),
            released_by=by.badge,
            released_at=means.clock.now(),
        )
        uow.designs.save(released)
        uow.commit()
    return released


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


def preview_sheet(uow: UnitOfWork, revision: Revision) -> dict[str, object]:
    """The sheet as it is frozen, or as it would be if the draft were released now."""
    if revision.sheet is not None:
        return revision.sheet
    with uow:
        stores = everything(uow)
    return sheet_of(Design.from_document(revision.document), stores)


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
