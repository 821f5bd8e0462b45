"""One transaction with every collection in it; what is not committed by name is rolled back."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from functools import cached_property
from typing import Self

from sqlalchemy import Connection
from sqlalchemy.exc import (
    DatabaseError,
    DataError,
    IntegrityError,
    InterfaceError,
    InternalError,
    OperationalError,
    SQLAlchemyError,
)
from sqlalchemy.exc import TimeoutError as PoolTimeout
from sqlmodel import Session

from api.domain.errors import BadInput, Clash, Unavailable
from api.storage.engine import Database
from api.storage.event_log import SqlEventLog
from api.storage.queries import chain
from api.storage.queries.analyses import SqlAnalyses
from api.storage.queries.crew import SqlPeople, SqlSessions
from api.storage.queries.designs import SqlDesigns
from api.storage.queries.items import SqlItems
from api.storage.queries.journal import SqlJournal
from api.storage.queries.plates import SqlPlates
from api.storage.queries.questions import SqlQuestions
from api.storage.queries.setups import SqlSetups
from api.storage.queries.shop import SqlShop
from api.storage.queries.signatures import SqlSignatures
from api.storage.queries.tablets import SqlTablets

UNFIT = (DataError, UnicodeEncodeError, OverflowError)
FAILURES = (OperationalError, InternalError, InterfaceError, PoolTimeout)


class SqlUnitOfWork:
    """`with uow:` begins; `uow.commit()` keeps. A read-only one uses the reader engine."""

    def __init__(self, database: Database, *, read_only: bool = False) -> None:
        self._database = database
        self._read_only = read_only
        self._session: Session | None = None

    def __enter__(self) -> Self:
        if self._session is not None:
            raise RuntimeError("a unit of work cannot be begun inside itself")
        engine = self._database.reader if self._read_only else self._database.writer
        session = Session(engine, expire_on_commit=False)
        with storage_errors():
            session.connection()
        self._session = session
        return self

    def __exit__(self, _kind: object, error: object, _trace: object) -> None:
        session, self._session = self._open, None
        self._forget()
        session.close()
        if isinstance(error, SQLAlchemyError) and _is_failure(error):
            raise unavailable(error) from error
        if isinstance(error, IntegrityError):
            raise Clash("Someone else changed this at the same moment; look again.") from error
        if isinstance(error, UNFIT):
            raise BadInput(
                "A value holds a character or a number that records cannot hold; nothing was changed."
            ) from error

    def commit(self) -> None:
        with storage_errors():
            self._open.commit()
        chain.forget(self._open)
        self._forget()

    def _forget(self) -> None:
        """What a collection remembers holds for one transaction."""
        for made in _COLLECTIONS:
            self.__dict__.pop(made, None)

    @property
    def connection(self) -> Connection:
        """For those who read or write rows as they are."""
        return self._open.connection()

    @property
    def _open(self) -> Session:
        if self._session is None:
            raise RuntimeError("begin the unit of work with `with uow:` first")
        return self._session

    @cached_property
    def designs(self) -> SqlDesigns:
        return SqlDesigns(self._open)

    @cached_property
    def analyses(self) -> SqlAnalyses:
        return SqlAnalyses(self._open)

    @cached_property
    def plates(self) -> SqlPlates:
        return SqlPlates(self._open)

    @cached_property
    def items(self) -> SqlItems:
        return SqlItems(self._open)

    @cached_property
    def people(self) -> SqlPeople:
        return SqlPeople(self._open)

    @cached_property
    def sessions(self) -> SqlSessions:
        return SqlSessions(self._open)

    @cached_property
    def events(self) -> SqlEventLog:
        return SqlEventLog(self._open)

    @cached_property
    def journal(self) -> SqlJournal:
        return SqlJournal(self._open)

    @cached_property
    def tablets(self) -> SqlTablets:
        return SqlTablets(self._open)

    @cached_property
    def signatures(self) -> SqlSignatures:
        return SqlSignatures(self._open)

    @cached_property
    def questions(self) -> SqlQuestions:
        return SqlQuestions(self._open)

    @cached_property
    def setups(self) -> SqlSetups:
        return SqlSetups(self._open)

    @cached_property
    def shop(self) -> SqlShop:
        return SqlShop(self._open)


_COLLECTIONS = (
    "designs",
    "analyses",
    "plates",
    "items",
    "people",
    "sessions",
    "events",
    "journal",
    "tablets",
    "signatures",
    "questions",
    "setups",
    "shop",
)


@contextmanager
def storage_errors() -> Iterator[None]:
    """The database's own failures as one error that a person can act on."""
    try:
        yield
    except SQLAlchemyError as problem:
        if not _is_failure(problem):
            raise
        raise unavailable(problem) from problem


def _is_failure(problem: SQLAlchemyError) -> bool:
    """Whether the database itself failed; a plain `DatabaseError` is a file that is none."""
    return isinstance(problem, FAILURES) or type(problem) is DatabaseError


def unavailable(problem: Exception) -> Unavailable:
    origin = getattr(problem, "orig", None) or problem
    why = str(origin).splitlines()[0][:200]
    return Unavailable(
        f"The records cannot be reached or written now ({why}). Nothing was changed; try again shortly."
    )
