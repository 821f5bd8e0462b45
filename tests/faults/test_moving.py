"""The ground moves under the tablets: another engine, an older copy, tables built anew."""

from __future__ import annotations

import uuid
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

import pytest
import sqlalchemy as sa
from alembic.migration import MigrationContext
from alembic.operations import Operations
from typer.testing import CliRunner

from api.cli import app
from api.paths import share
from api.settings import Settings
from api.storage import migrate, triggers
from api.storage.engine import Database
from tests.support.invariants import Held, all_sent, assert_invariants, guarded_rows
from tests.support.script import Tablet
from tests.support.shop import STEPS, Shop, enrol, make_shop, push
from tests.support.sim.machine import Machine
from tests.support.sim.served import ServedSite
from tests.support.sim.tablet import SimTablet
from tests.support.sim.world import World


@pytest.fixture
def on_file(tmp_path: Path) -> Iterator[Shop]:
    settings = Settings(data=tmp_path / "old")
    made = make_shop(settings.database, settings.keys)
    yield made
    made.database.close()


def worked(shop: Shop, name: str) -> Tablet:
    tablet = shop.tablet(name, setup=str(uuid.uuid4()))
    events = [tablet.open(), *tablet.work(STEPS, "sign")]
    shop.sign(tablet, events, "4101")
    return tablet


def command(*words: object) -> None:
    done = CliRunner().invoke(app, [str(word) for word in words])
    assert done.exit_code == 0, done.output


def test_a_shop_moved_from_sqlite_to_postgresql_goes_on_where_it_was(
    on_file: Shop, postgres_url: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    tablets = [worked(on_file, f"tab-{number}") for number in range(3)]
    for number, one in enumerate(tablets):
        on_file.push(one, one.texts[: 4 + number])
    before = assert_invariants(on_file.database)
    monkeypatch.delenv("CLAMPBOOK_DATABASE_URL", raising=False)
    command("dump", "--with-secrets", "--out", tmp_path / "all.jsonl", "--data", tmp_path / "old")
    monkeypatch.setenv("CLAMPBOOK_DATABASE_URL", postgres_url)
    command("load", tmp_path / "all.jsonl", "--data", tmp_path / "new")
    with closing(Database(postgres_url)) as database:
        after = guarded_rows(database)
        for table in ("event", "journal"):
            assert [*after[table].values()] == [*before[table].values()]
        moved = Shop(database, on_file.clock, on_file.keys, on_file.means, on_file.analyser)
        for number, one in enumerate(tablets):
            taken = push(moved, one)
            outcomes = [result.outcome for result in taken.results]
            kept = 4 + number
            assert outcomes == ["already"] * kept + ["stored"] * (len(one.texts) - kept)
        assert_invariants(
            database, [all_sent(one.name, one.texts) for one in tablets], before=after
        )
        with moved.reader as uow:
            assert {one.phase for one in uow.setups.all()} == {"signed"}


def test_a_server_restored_from_yesterday_gets_everything_again_by_itself(
    served: ServedSite,
) -> None:
    with Machine() as machine:
        tablets = [SimTablet(f"tab-{number}", machine) for number in range(3)]
        world = World(served.door, tablets, lambda one: enrol(served, one.writer))
        for one in tablets:
            world.let_in(one)
            for _ in range(7):
                one.tick()
        world.settle()
        served.back_up()
        for one in tablets:
            for _ in range(9):
                one.tick()
        world.settle()
        assert_invariants(served.database, [one.held for one in tablets])
        assert served.restore(0)
        restored = assert_invariants(served.database)
        stored = [row["tablet"] for row in restored["event"].values()]
        assert [stored.count(one.name) for one in tablets] == [7, 7, 7]
        tablets[0].tick()
        world.settle()
        assert_invariants(served.database, [one.held for one in tablets], before=restored)
        assert all(len(one.shown) == len(one.rows) for one in tablets)


def test_tables_built_anew_by_a_migration_keep_every_row_number_and_guard(shop: Shop) -> None:
    tablets = [worked(shop, f"tab-{number}") for number in range(2)]
    late = tablets[1].texts[6:]
    shop.push(tablets[0])
    shop.push(tablets[1], tablets[1].texts[:6])
    held = [
        all_sent(tablets[0].name, tablets[0].texts),
        Held(tablets[1].name, dict(enumerate(tablets[1].texts, 1)), range(7, 99)),
    ]
    before = assert_invariants(shop.database, held)
    rebuild(shop.database, "event")
    migrate.assert_guarded(shop.database)
    assert_invariants(shop.database, held, before=before)
    assert {one.outcome for one in shop.push(tablets[1], late).results} == {"stored"}
    held[1] = all_sent(tablets[1].name, tablets[1].texts)
    assert_invariants(shop.database, held, before=before)
    refusal = sa.text("UPDATE event SET flags = '[]'")
    with shop.database.writer.connect() as connection, pytest.raises(sa.exc.DBAPIError):
        connection.execute(refusal)


def rebuild(database: Database, table: str) -> None:
    """As a migration that SQLite can only do by copying a table: new, filled, renamed, guarded."""
    with database.writer.connect() as connection:
        if database.is_sqlite:
            connection.connection.execute("PRAGMA foreign_keys = OFF")
        operations = Operations(MigrationContext.configure(connection))
        with connection.begin():
            with operations.batch_alter_table(
                table, recreate="always" if database.is_sqlite else "never"
            ) as batch:
                batch.alter_column("kind", existing_type=sa.String(), type_=sa.Text())
            if database.is_sqlite:
                triggers.create(connection, [table])
        if database.is_sqlite:
            connection.connection.execute("PRAGMA foreign_keys = ON")
    assert migrate.current(database) == migrate.newest(share("migrations"))
