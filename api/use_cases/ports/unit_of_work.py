"""One transaction, with everything that is kept in it."""

from __future__ import annotations

from typing import Protocol, Self

from api.use_cases.ports.kept import (
    Analyses,
    Designs,
    EventLog,
    Items,
    Journal,
    People,
    Plates,
    Sessions,
    Setups,
    Shop,
    Signatures,
    TabletRegister,
)
from api.use_cases.ports.questions import Questions


class UnitOfWork(Protocol):
    @property
    def designs(self) -> Designs: ...

    @property
    def analyses(self) -> Analyses: ...

    @property
    def plates(self) -> Plates: ...

    @property
    def items(self) -> Items: ...

    @property
    def people(self) -> People: ...

    @property
    def sessions(self) -> Sessions: ...

    @property
    def events(self) -> EventLog: ...

    @property
    def journal(self) -> Journal: ...

    @property
    def tablets(self) -> TabletRegister: ...

    @property
    def signatures(self) -> Signatures: ...

    @property
    def questions(self) -> Questions: ...

    @property
    def setups(self) -> Setups: ...

    @property
    def shop(self) -> Shop: ...

    def __enter__(self) -> Self: ...

    def __exit__(self, kind: object, error: object, trace: object, /) -> None: ...

    def commit(self) -> None: ...
