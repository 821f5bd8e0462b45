"""Whether the server works, and what it could not take in."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass

from api.domain.errors import Unavailable
from api.domain.people import Action, Person, require
from api.domain.records import Tablet
from api.use_cases.ports import Means, UnitOfWork


@dataclass(frozen=True, slots=True)
class Health:
    """A row was written and read back; `head` is the last number given to a record."""

    database: str
    epoch: str
    head: int
    time: dt.datetime
    watermark: int | None = None


def health(uow: UnitOfWork, reader: UnitOfWork, means: Means) -> Health:
    """Writes a row, commits, and reads it through the other engine; raises `Unavailable`."""
    written = means.tokens.new()
    with uow:
        uow.shop.probe(written)
        uow.commit()
    with reader:
        if reader.shop.probed() is None:
            raise Unavailable("A row that was written did not come back; look at the disk.")
    return as_read(reader, means)


def as_read(reader: UnitOfWork, means: Means) -> Health:
    """The same figures without writing, for a server that can only read."""
    with reader:
        meta = reader.shop.meta()
        head, now = reader.events.head(), means.clock.now()
        return Health(reader.shop.dialect(), meta.epoch, head, now, meta.watermark)


def list_tablets(uow: UnitOfWork, by: Person) -> list[Tablet]:
    require(by, Action.READ)
    with uow:
        return uow.tablets.all()


def name_shop(uow: UnitOfWork, name: str) -> None:
    with uow:
        uow.shop.name(name[:120])
        uow.shop.bump()
        uow.commit()
