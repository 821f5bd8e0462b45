"""Migrations: they end where the models are, and no row is lost on the way."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
import sqlalchemy as sa
from alembic.autogenerate import compare_metadata
from alembic.runtime.migration import MigrationContext

from api.domain.proof import Examination, Findings
from api.domain.records import StoredEvent
from api.paths import share
from api.security.tablet_keys import TabletKeys
from api.storage import migrate, rows, triggers
from api.storage.engine import Database
from api.storage.tables import METADATA
from api.storage.unit_of_work import SqlUnitOfWork
from api.use_cases import tablets
from api.use_cases.proof import check_projections, written
from tests.storage.rehearsal import old_tablet, put_in
from tests.support.script import Tablet
from tests.support.shop import LEAD, Shop, open_shop

SCRIPTS = share("migrations")
REVISIONS = migrate.revisions(SCRIPTS)
MOMENT = "2026-11-24T08:00:00.000000Z"
Rows = dict[str, list[dict[str, Any]]]


def test_models_and_migrations_agree(database: Database) -> None:
    with database.writer.connect() as connection:
        context = MigrationContext.configure(connection, opts={"compare_type": True})
        assert compare_metadata(context, METADATA) == []


def test_a_second_upgrade_changes_nothing(database: Database) -> None:
    before = everything(database)
    migrate.upgrade(database, SCRIPTS)
    assert everything(database) == before
    assert migrate.current(database) == migrate.newest(SCRIPTS)


@pytest.mark.parametrize("start", REVISIONS)
def test_an_upgrade_from_every_earlier_revision_keeps_every_row(
    database_url: str, start: str
) -> None:
    database = Database(database_url)
    migrate.upgrade(database, SCRIPTS, to=start)
    fill(database)
    before = everything(database)
    assert all(len(rows) >= 2 for rows in before.values())
    migrate.upgrade(database, SCRIPTS)
    migrate.assert_guarded(database)
    after = everything(database)
    for table, kept in before.items():
        assert len(after[table]) == len(kept), table
        for old, new in zip(kept, after[table], strict=True):
            shared = old.keys() & new.keys()
            assert {name: new[name] for name in shared} == {name: old[name] for name in shared}
    database.close()


@pytest.mark.parametrize("start", REVISIONS[:2])
def test_a_shop_of_an_earlier_form_is_upgraded_verified_and_goes_on(
    database_url: str, start: str, tmp_path: Path
) -> None:
    database = Database(database_url)
    migrate.upgrade(database, SCRIPTS, to=start)
    tablet = old_tablet()
    put_in(database, tablet, tmp_path)
    with pytest.raises(sa.exc.DBAPIError, match="never changed or deleted"):
        change(database, "UPDATE event SET text = 'x'")
    migrate.upgrade(database, SCRIPTS)

    found = proved(database)
    assert (found.events, found.entries, found.before_journal) == (len(tablet.texts), 0, 2)
    shop = open_shop(database, tmp_path / "keys")
    enrol_old(shop, tablet)
    tablet.write("note", None, text="after the upgrade")
    assert shop.push(tablet, tablet.texts[-1:]).results[0].outcome == "stored"
    again = proved(database)
    assert (again.events, again.entries) == (len(tablet.texts), 1)
    with SqlUnitOfWork(database, read_only=True) as uow:
        before, entry, event = list(written(uow))[-3:]
    assert (event.seq, entry.seq) == (before.seq + 2, before.seq + 1)
    assert isinstance(before, StoredEvent)
    assert isinstance(event, StoredEvent)
    assert (before.form, event.form) == (1, 2)
    for table in triggers.GUARDED_SINCE:
        with pytest.raises(sa.exc.DBAPIError, match="never changed or deleted"):
            change(database, f"DELETE FROM {table}")
    database.close()


def proved(database: Database) -> Findings:
    """As `clampbook verify` does it, without checkpoints outside."""
    migrate.assert_guarded(database)
    with SqlUnitOfWork(database, read_only=True) as uow:
        examination = Examination(TabletKeys().signed, lambda *_: None, None)
        for line in rows.lines(uow.connection):
            examination.take(line)
        check_projections(uow, rows.pulls(uow.connection))
        return examination.finish()


def enrol_old(shop: Shop, tablet: Tablet) -> None:
    """A tablet from before there were keys gets one, and goes on with its records."""
    code = tablets.plain_code(tablets.make_code(shop.uow, shop.means, "Bench 1", LEAD).code)
    proof = tablet.key.sign(tablets.enrol_text(code, tablet.name))
    tablets.enrol(shop.uow, shop.means, code, tablet.name, tablet.key.public, proof, "test")


def change(database: Database, *statements: str) -> None:
    with database.writer.begin() as connection:
        for statement in statements:
            connection.execute(sa.text(statement))


def test_a_missing_guard_is_named(database: Database) -> None:
    drop = "DROP TRIGGER event_no_delete" + ("" if database.is_sqlite else " ON event")
    with database.writer.begin() as connection:
        connection.execute(sa.text(drop))
    with pytest.raises(triggers.MissingTrigger, match="event_no_delete"):
        migrate.assert_guarded(database)


def test_a_migration_ends_with_foreign_keys_on(sqlite_url: str) -> None:
    database = Database(sqlite_url)
    migrate.upgrade(database, SCRIPTS)
    with database.writer.connect() as connection:
        assert connection.execute(sa.text("PRAGMA foreign_keys")).scalar_one() == 1
    database.close()


def reflected(database: Database) -> sa.MetaData:
    found = sa.MetaData()
    with database.reader.connect() as connection:
        found.reflect(connection)
    found.remove(found.tables["alembic_version"])
    return found


def fill(database: Database) -> None:
    """Two rows in every table, made from the columns the database has at this revision."""
    with database.writer.begin() as connection:
        for table in reflected(database).sorted_tables:
            for number in (1, 2):
                row = {column.name: content(column, number) for column in table.columns}
                connection.execute(table.insert().values(row))


def content(column: sa.Column[Any], number: int) -> Any:
    """A value that fits the column and what it refers to."""
    for key in column.foreign_keys:
        return content(key.column, number)
    match column.type:
        case sa.Boolean():
            return number == 1
        case sa.Integer():
            return 1000 + number
        case sa.Float():
            return number + 0.5
        case sa.Text():
            return f'"{column.name} {number}"'
        case sa.String(length=27):
            return MOMENT
        case _:
            return f"{column.name}-{number}"


def everything(database: Database) -> Rows:
    found: Rows = {}
    with database.reader.connect() as connection:
        for table in reflected(database).sorted_tables:
            order = list(table.primary_key.columns)
            rows = connection.execute(table.select().order_by(*order)).mappings()
            found[table.name] = [dict(row) for row in rows]
    return found
