"""The logbook: one setup as a record, searches over all of them, a point's readings over time."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from api.domain.errors import BadInput, NotFound
from api.domain.events import Event
from api.domain.records import (
    Page,
    PointReading,
    SetupFilter,
    SetupSummary,
    StoredEvent,
    StoredSignature,
)
from api.domain.setups import Setup, to_json
from api.use_cases.ports import UnitOfWork
from api.use_cases.records import folding

PER_PAGE = 25
MOST_PER_PAGE = 200
LAST_PAGE = 1_000_000


@dataclass(frozen=True)
class RecordedEvent:
    """An event as stored, beside what its text says."""

    stored: StoredEvent
    event: Event


@dataclass(frozen=True)
class SetupRecord:
    """Everything known of one setup, in the server's order.

    `summary` is missing while the record that opens the setup has not arrived.
    """

    id: str
    summary: SetupSummary | None
    state: Setup
    events: list[RecordedEvent]
    signatures: list[StoredSignature]
    sheet: dict[str, Any] | None

    @property
    def state_json(self) -> dict[str, Any]:
        return to_json(self.state)


def get_setup(uow: UnitOfWork, setup_id: str) -> SetupRecord:
    with uow:
        folded = folding.load(uow, setup_id, folding.steps_from(uow))
        if not folded.stored:
            raise NotFound(f"There is no setup {setup_id!r}.", setup=setup_id)
        summary = uow.setups.get(setup_id)
        revision = uow.designs.get(summary.design, summary.revision) if summary else None
        pairs = zip(folded.stored, folded.parsed, strict=True)
        return SetupRecord(
            setup_id,
            summary,
            folded.setup,
            [RecordedEvent(stored, event) for stored, event in pairs],
            uow.signatures.of_setup(setup_id),
            revision.sheet if revision else None,
        )


def find_setups(
    uow: UnitOfWork, wanted: SetupFilter, page: int = 1, per_page: int = PER_PAGE
) -> Page[SetupSummary]:
    """Newest first."""
    check_page(page, per_page)
    if wanted.since and wanted.until and wanted.since > wanted.until:
        raise BadInput("The first day lies after the last one.", field="since")
    with uow:
        return uow.setups.find(wanted, page, per_page)


def plate_history(
    uow: UnitOfWork, serial: str, page: int = 1, per_page: int = PER_PAGE
) -> Page[SetupSummary]:
    """The plate's setups, newest first."""
    check_page(page, per_page)
    with uow:
        if uow.plates.get(serial) is None:
            raise NotFound(f"There is no plate {serial!r}.", plate=serial)
        return uow.setups.find(SetupFilter(plate=serial), page, per_page)


def point_series(
    uow: UnitOfWork, plate: str, point: str | None = None, state: str | None = None
) -> list[PointReading]:
    """The final readings of a plate's point in one state, oldest first."""
    with uow:
        if uow.plates.get(plate) is None:
            raise NotFound(f"There is no plate {plate!r}.", plate=plate)
        return [one for one in uow.setups.readings(plate, point, state) if one.final]


def readings_of(uow: UnitOfWork, setups: list[SetupSummary]) -> list[PointReading]:
    """Every reading of these setups, as for an export."""
    with uow:
        return uow.setups.readings_of(one.id for one in setups)


def check_page(page: int, per_page: int) -> None:
    if not 1 <= page <= LAST_PAGE:
        raise BadInput(f"page must lie between 1 and {LAST_PAGE}.", field="page")
    if not 1 <= per_page <= MOST_PER_PAGE:
        raise BadInput(f"per_page must lie between 1 and {MOST_PER_PAGE}.", field="per_page")
