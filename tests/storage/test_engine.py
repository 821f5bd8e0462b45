"""The engines, the unit of work, and the guards of the append-only tables."""

from __future__ import annotations

import stat
import threading
from pathlib import Path

import pytest
import sqlalchemy as sa
from sqlalchemy.exc import DatabaseError, IntegrityError

from api.domain.errors import Unavailable
from api.domain.people import Person, Role
from api.domain.plates import Plate
from api.paths import share
from api.storage import migrate
from api.storage.engine import Database
from api.storage.unit_of_work import SqlUnitOfWork
from tests.storage.test_migrations import fill

PERSON = Person(badge="B-01", role=Role.OPERATOR)


def test_what_is_not_committed_by_name_is_gone(database: Database) -> None:
    with SqlUnitOfWork(database) as uow:
        uow.people.save(PERSON)
    with SqlUnitOfWork(database) as uow:
        assert uow.people.get("B-01") is None
        uow.people.save(PERSON)
        uow.commit()
    with SqlUnitOfWork(database, read_only=True) as uow:
        assert uow.people.get("B-01") == PERSON


def test_an_error_inside_rolls_back(database: Database) -> None:
    def fail() -> None:
        with SqlUnitOfWork(database) as uow:
            uow.people.save(PERSON)
            raise LookupError

    with pytest.raises(LookupError):
        fail()
    with SqlUnitOfWork(database, read_only=True) as uow:
        assert uow.people.get("B-01") is None


def test_a_read_only_unit_of_work_cannot_write(database: Database) -> None:
    with SqlUnitOfWork(database, read_only=True) as uow, pytest.raises(DatabaseError):
        uow.people.save(PERSON)
    with SqlUnitOfWork(database, read_only=True) as uow:
        assert uow.people.get("B-01") is None


def test_a_unit_of_work_is_not_begun_inside_itself(database: Database) -> None:
    uow = SqlUnitOfWork(database)
    with uow, pytest.raises(RuntimeError, match="inside itself"):
        uow.__enter__()


def test_a_unit_of_work_is_used_only_once_begun(database: Database) -> None:
    with pytest.raises(RuntimeError, match="with uow"):
        SqlUnitOfWork(database).people.all()


@pytest.mark.parametrize("table", ["event", "store_item"])
@pytest.mark.parametrize("verb", ["UPDATE {0} SET hash_or_by = 'x'", "DELETE FROM {0}"])
def test_rows_of_append_only_tables_cannot_be_changed_or_deleted(
    database: Database, table: str, verb: str
) -> None:
    fill(database)
    column = "hash" if table == "event" else "by"
    statement = verb.format(table).replace("hash_or_by", f'"{column}"')
    with (
        pytest.raises(DatabaseError, match="never changed or deleted"),
        database.writer.begin() as connection,
    ):
        connection.execute(sa.text(statement))
    with database.reader.connect() as connection:
        assert connection.execute(sa.text(f"SELECT count(*) FROM {table}")).scalar_one() == 2


def test_an_event_cannot_be_replaced_on_sqlite(sqlite_url: str) -> None:
    database = Database(sqlite_url)
    migrate.upgrade(database, share("migrations"))
    fill(database)
    replace = "INSERT OR REPLACE INTO event SELECT * FROM event"
    with (
        pytest.raises(DatabaseError, match="never changed or deleted"),
        database.writer.begin() as connection,
    ):
        connection.execute(sa.text(replace))
    database.close()


def test_the_event_table_cannot_be_emptied_at_once_on_postgresql(postgres_url: str) -> None:
    database = Database(postgres_url)
    migrate.upgrade(database, share("migrations"))
    with (
        pytest.raises(DatabaseError, match="never changed or deleted"),
        database.writer.begin() as connection,
    ):
        connection.execute(sa.text("TRUNCATE event CASCADE"))
    database.close()


def test_references_are_enforced(database: Database) -> None:
    from api.domain.records import Credential

    with SqlUnitOfWork(database) as uow, pytest.raises(IntegrityError):
        uow.people.save_credential(Credential("nobody", "pin", "x"))


def test_sqlite_runs_with_the_settings_that_keep_records(sqlite_url: str) -> None:
    database = Database(sqlite_url)
    wanted = {"journal_mode": "wal", "synchronous": 2, "foreign_keys": 1, "recursive_triggers": 1}
    with database.writer.connect() as connection:
        for name, value in wanted.items():
            assert connection.execute(sa.text(f"PRAGMA {name}")).scalar_one() == value
        assert connection.execute(sa.text("PRAGMA busy_timeout")).scalar_one() >= 1000
    database.close()


def test_a_new_database_file_is_its_owners_alone(tmp_path: Path) -> None:
    database = Database(f"sqlite:///{tmp_path / 'folder' / 'new.sqlite3'}")
    migrate.upgrade(database, share("migrations"))
    for path in (tmp_path / "folder").iterdir():
        assert stat.S_IMODE(path.stat().st_mode) == 0o600
    database.close()


def test_readers_see_what_was_committed_while_a_writer_is_at_work(database: Database) -> None:
    with SqlUnitOfWork(database) as writing:
        writing.plates.save(Plate(serial="P-1", design="D"))
        with SqlUnitOfWork(database, read_only=True) as reading:
            assert reading.plates.all() == []
        writing.commit()
    with SqlUnitOfWork(database, read_only=True) as reading:
        assert [one.serial for one in reading.plates.all()] == ["P-1"]


def test_the_counter_gives_every_number_once_to_many_writers(database: Database) -> None:
    given: list[int] = []

    def count() -> None:
        for _ in range(10):
            with SqlUnitOfWork(database) as uow:
                number = uow.shop.bump()
                uow.commit()
            given.append(number)

    threads = [threading.Thread(target=count) for _ in range(8)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert sorted(given) == list(range(2, 82))


def test_a_file_that_is_no_database_is_reported_as_unavailable(tmp_path: Path) -> None:
    path = tmp_path / "broken.sqlite3"
    path.write_bytes(b"this is no database" * 100)
    database = Database(f"sqlite:///{path}")
    with pytest.raises(Unavailable, match="try again"), SqlUnitOfWork(database):
        pass
    database.close()


def test_a_database_that_is_not_there_is_reported_as_unavailable() -> None:
    database = Database("postgresql://nobody@127.0.0.1:1/none")
    with pytest.raises(Unavailable, match="Nothing was changed"), SqlUnitOfWork(database):
        pass
    database.close()
