"""A unit of work inside a larger one: many use cases, one transaction, committed by whoever began it."""

from __future__ import annotations

from typing import Self

from api.use_cases.demo.ledger import Counter, Drawings, Ledger, Shelves
from api.use_cases.ports import UnitOfWork


class Joined:
    """Stands for `uow`, which has begun; its own beginnings and commits are the outer one's."""

    def __init__(self, uow: UnitOfWork) -> None:
        self.designs = Drawings(uow.designs)
        self.plates = uow.plates
        self.items = Shelves(uow.items)
        self.people = uow.people
        self.sessions = uow.sessions
        self.events = Ledger(uow.events)
        self.signatures = uow.signatures
        self.setups = uow.setups
        self.shop = Counter(uow.shop)

    def __enter__(self) -> Self:
        return self

    def __exit__(self, kind: object, error: object, trace: object, /) -> None:
        """An error goes on to the outer unit of work, which undoes everything."""

    def commit(self) -> None:
        """Left to the outer unit of work."""
