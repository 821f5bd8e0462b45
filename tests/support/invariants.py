"""What must hold after any fault, whatever went wrong before it; for both engines."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import sqlalchemy as sa

from api.domain.events import hash_of, parse
from api.domain.proof import first_fault
from api.domain.records import PointReading, SetupSummary
from api.storage.engine import Database
from api.storage.triggers import GUARDED_SINCE
from api.storage.unit_of_work import SqlUnitOfWork
from api.use_cases import records
from api.use_cases.proof import written

Rows = Mapping[str, Mapping[tuple[Any, ...], Mapping[str, Any]]]
Projections = tuple[list[SetupSummary], list[PointReading], dict[str, int]]
NOTHING: Rows = {}


@dataclass(frozen=True, slots=True)
class Held:
    """What one tablet has: all it ticked, what it has still to send, and what its screen claims.

    `ticked` are the frozen texts by number, `shown` the numbers shown as being on the server.
    """

    tablet: str
    ticked: Mapping[int, str]
    outbox: Collection[int] = ()
    shown: Collection[int] = ()


def all_sent(tablet: str, texts: Iterable[str]) -> Held:
    """A tablet that has had an outcome for everything."""
    ticked = {parse(text).n: text for text in texts}
    return Held(tablet, ticked, shown=frozenset(ticked))


def assert_invariants(
    database: Database,
    tablets: Sequence[Held] = (),
    *,
    before: Rows = NOTHING,
    gaps: Mapping[str, Sequence[int]] | None = None,
) -> Rows:
    """Raises with the first invariant that does not hold; returns the rows for the next call.

    `before` is what an earlier call returned: none of it may have changed or gone. `gaps` are the
    numbers of each tablet that are known not to have arrived.
    """
    found = guarded_rows(database)
    assert_only_added(before, found)
    events = list(found["event"].values())
    aside = {row["hash"] for row in found["set_aside"].values()}
    for one in tablets:
        assert_kept_once(one, events, aside)
    assert_numbers(database, events, gaps or {})
    with SqlUnitOfWork(database, read_only=True) as uow:
        fault, _ = first_fault(written(uow))
    assert fault == ""
    assert_rebuilds_equal(database)
    return found


def guarded_rows(database: Database) -> Rows:
    """Every row of the tables that only ever grow, by its key."""
    tables = sa.MetaData()
    with database.reader.connect() as connection:
        tables.reflect(connection, only=list(GUARDED_SINCE))
        found: dict[str, dict[tuple[Any, ...], dict[str, Any]]] = {}
        for table in tables.sorted_tables:
            keys = [column.name for column in table.primary_key]
            rows = [dict(row) for row in connection.execute(table.select()).mappings()]
            found[table.name] = {tuple(row[key] for key in keys): row for row in rows}
    return found


def assert_only_added(before: Rows, after: Rows) -> None:
    """Nothing seen before is changed or gone."""
    for table, rows in before.items():
        for key, row in rows.items():
            assert after[table].get(key) == row, f"{table} {key} was changed or deleted"


def assert_kept_once(
    held: Held, events: Sequence[Mapping[str, Any]], aside: Collection[str]
) -> None:
    """Each ticked event is on the server once or to be sent; none is shown there that is not."""
    stored = Counter(row["text"] for row in events if row["tablet"] == held.tablet)
    for n, text in held.ticked.items():
        times = stored[text] + (hash_of(text) in aside)
        assert times <= 1, f"{held.tablet}/{n} is on the server {times} times"
        assert times == 1 or n in held.outbox, f"{held.tablet}/{n} is lost"
        assert times == 1 or n not in held.shown, f"{held.tablet}/{n} is shown as kept and is not"


def assert_numbers(
    database: Database, events: Sequence[Mapping[str, Any]], gaps: Mapping[str, Sequence[int]]
) -> None:
    """No id or number twice, no gap but those named, and no hole in the server's own order."""
    assert len({row["id"] for row in events}) == len(events)
    numbers: dict[str, list[int]] = {}
    for row in sorted(events, key=lambda row: (row["tablet"], row["n"])):
        numbers.setdefault(row["tablet"], []).append(row["n"])
    missing = {tablet: _missing(ns) for tablet, ns in numbers.items() if _missing(ns)}
    assert missing == {tablet: list(ns) for tablet, ns in gaps.items()}
    with SqlUnitOfWork(database, read_only=True) as uow:
        order = [row.seq for row in written(uow)]
        known = {one.id: (one.contiguous, one.highest) for one in uow.tablets.all()}
        head = uow.events.head()
    assert order == list(range(1, head + 1))
    for tablet, ns in numbers.items():
        assert len(set(ns)) == len(ns), f"{tablet} has a number twice"
        assert known[tablet] == (_contiguous(ns), ns[-1]), tablet


def gaps_of(rows: Rows) -> dict[str, list[int]]:
    """Numbers that each tablet has used and the server has not seen."""
    numbers: dict[str, list[int]] = {}
    for row in rows["event"].values():
        numbers.setdefault(row["tablet"], []).append(row["n"])
    found = {tablet: _missing(sorted(ns)) for tablet, ns in numbers.items()}
    return {tablet: missing for tablet, missing in found.items() if missing}


def _missing(ns: Sequence[int]) -> list[int]:
    return sorted(set(range(1, ns[-1] + 1)) - set(ns))


def _contiguous(ns: Sequence[int]) -> int:
    missing = _missing(ns)
    return missing[0] - 1 if missing else ns[-1]


class _Tried(SqlUnitOfWork):
    """Whose commit looks at the projections and keeps nothing."""

    seen: Projections | None = None

    def commit(self) -> None:
        self.seen = _projections(self)


def _projections(uow: SqlUnitOfWork) -> Projections:
    readings = sorted(uow.setups.readings(), key=lambda one: one.event)
    return sorted(uow.setups.all(), key=lambda one: one.id), readings, uow.setups.pulls()


def assert_rebuilds_equal(database: Database) -> None:
    """Projections folded anew from the log equal those kept up event by event."""
    with SqlUnitOfWork(database, read_only=True) as uow:
        live = _projections(uow)
    tried = _Tried(database)
    records.rebuild(tried)
    assert tried.seen == live
