"""Yesterday's backup put back: a new epoch, nobody signed in, and tablets that send what is missing."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest

from api.backing import BackupFailed, locks
from api.storage.engine import Database
from api.storage.unit_of_work import SqlUnitOfWork
from api.use_cases import crew
from tests.backing.conftest import Kept
from tests.support.invariants import all_sent, assert_invariants
from tests.support.shop import LEAD, OWNER, STEPS

SETUP = "01920000-0000-7000-8000-000000000abc"
OTHER = "01920000-0000-7000-8000-000000000abd"


def test_tablets_send_what_the_restored_server_lacks_and_nothing_is_lost_or_doubled(
    kept: Kept,
) -> None:
    first = kept.work("tab-1", SETUP)
    second = kept.shop.tablet("tab-2", setup=OTHER)
    yesterday = kept.backup()
    list(first.work(STEPS[6:9]))
    kept.shop.push(first)
    second.open()
    list(second.work(STEPS[:4]))
    lost = kept.shop.push(second)
    done = kept.restore(yesterday.folder)
    assert done.epoch != yesterday.manifest.epoch
    assert done.aside
    again = kept.shop.push(first)
    assert again.epoch == done.epoch != lost.epoch
    assert again.watermark == yesterday.manifest.seq
    assert "already" in {one.outcome for one in again.results}
    assert "stored" in {one.outcome for one in again.results}
    assert {one.outcome for one in kept.shop.push(second).results} == {"stored"}
    assert {one.outcome for one in kept.shop.push(first).results} == {"already"}
    held = [all_sent("tab-1", first.texts), all_sent("tab-2", second.texts)]
    assert_invariants(kept.shop.database, held)


def test_the_restore_is_written_down_and_signed(kept: Kept) -> None:
    made = kept.backup()
    done = kept.restore(made.folder)
    with kept.shop.reader as uow:
        entry = uow.journal.last("restored")
        last = uow.journal.last("checkpoint")
    assert entry is not None and last is not None
    body = json.loads(entry.body)
    assert body["backup"] == made.folder.name
    assert (body["from"], body["epoch"]) == (made.manifest.epoch, done.epoch)
    assert (body["seq"], body["head"]) == (made.manifest.seq, made.manifest.head)
    assert body["signature"]
    assert json.loads(last.body)["epoch"] == done.epoch


def test_nobody_stays_signed_in(kept: Kept) -> None:
    crew.set_password(kept.shop.uow, kept.shop.means, LEAD.badge, "clamp plate bench 81", OWNER)
    token = crew.sign_in(kept.shop.uow, kept.shop.means, LEAD.badge, "clamp plate bench 81").token
    made = kept.backup()
    kept.restore(made.folder)
    assert crew.who(kept.shop.reader, kept.shop.means, token) is None


def test_the_database_that_was_there_is_kept_whole(kept: Kept) -> None:
    made = kept.backup()
    tablet = kept.work("tab-1", SETUP)
    with kept.shop.reader as uow:
        newest = uow.events.chain_head()
    done = kept.restore(made.folder)
    if not kept.shop.database.is_sqlite:
        with kept.shop.database.reader.connect() as connection:
            query = f'SELECT count(*) FROM "{done.aside}".event'
            assert connection.exec_driver_sql(query).scalar_one() == len(tablet.texts)
        return
    (file,) = Path(done.aside).iterdir()
    aside = Database(f"sqlite:///{file}")
    with SqlUnitOfWork(aside, read_only=True) as uow:
        assert uow.events.chain_head() == newest
    aside.close()


def test_a_backup_made_after_a_restore_can_be_restored_too(kept: Kept) -> None:
    kept.work("tab-1", SETUP)
    first = kept.restore(kept.backup().folder)
    kept.shop.clock.forward(60)
    again = kept.backup()
    kept.shop.clock.forward(60)
    second = kept.restore(again.folder)
    assert again.manifest.epoch == first.epoch
    assert second.epoch not in (first.epoch, "")
    assert_invariants(kept.shop.database)


@pytest.mark.parametrize("where", ["middle", "keys", "missing", "added", "manifest"])
def test_a_corrupted_backup_is_refused_and_changes_nothing(kept: Kept, where: str) -> None:
    kept.work("tab-1", SETUP)
    made = kept.backup()
    copy = made.folder / made.manifest.copy
    if where == "middle":
        raw = bytearray(copy.read_bytes())
        raw[len(raw) // 2] ^= 1
        copy.write_bytes(raw)
    elif where == "keys":
        (made.folder / "keys/sealing.pem").write_text("other")
    elif where == "missing":
        copy.unlink()
    elif where == "added":
        (made.folder / "keys/more.pem").write_text("more")
    else:
        told = json.loads((made.folder / "manifest.json").read_text())
        (made.folder / "manifest.json").write_text(json.dumps(told | {"seq": told["seq"] - 1}))
    with kept.shop.reader as uow:
        before = uow.events.chain_head(), uow.shop.meta()
    with pytest.raises(BackupFailed, match=r"cannot be used|does not hold what"):
        kept.restore(made.folder)
    with kept.shop.reader as uow:
        assert (uow.events.chain_head(), uow.shop.meta()) == before


def test_a_restore_waits_for_no_server_it_refuses(kept: Kept) -> None:
    made = kept.backup()
    with (
        locks.shared(kept.settings.data / locks.SERVING, "busy"),
        pytest.raises(BackupFailed, match="Stop it first"),
    ):
        kept.restore(made.folder)


def test_a_folder_that_is_no_backup_is_named(kept: Kept, tmp_path: Path) -> None:
    with pytest.raises(BackupFailed, match="is not a finished backup"):
        kept.restore(tmp_path)


def test_a_copy_of_the_other_engine_is_refused(kept: Kept) -> None:
    made = kept.backup()
    other = "postgresql" if kept.shop.database.is_sqlite else "sqlite"
    path = made.folder / "manifest.json"
    path.write_text(json.dumps(json.loads(path.read_text()) | {"engine": other}))
    with pytest.raises(BackupFailed, match=f"is a copy of a {other} database"):
        kept.restore(made.folder)


def test_a_new_machine_gets_the_keys_and_the_records(kept: Kept, tmp_path: Path) -> None:
    tablet = kept.work("tab-1", SETUP)
    made = kept.backup()
    moved = shutil.copytree(made.folder, tmp_path / made.folder.name)
    if not kept.shop.database.is_sqlite:
        shutil.rmtree(kept.settings.keys)
        kept.restore(moved)
    else:
        kept.shop.database.close()
        shutil.rmtree(kept.settings.data)
        Path(kept.settings.database.removeprefix("sqlite:///")).unlink()
        assert kept.restore(moved).aside == ""
    key = moved / "keys/sealing.pem"
    assert (kept.settings.keys / "sealing.pem").read_bytes() == key.read_bytes()
    assert (kept.settings.keys / "sealing.pem").stat().st_mode & 0o077 == 0
    assert_invariants(kept.shop.database, [all_sent("tab-1", tablet.texts)])


@pytest.mark.parametrize("new_database_url", ["sqlite"], indirect=True)
def test_a_database_that_is_beyond_reading_is_moved_aside_as_well(kept: Kept) -> None:
    made = kept.backup()
    kept.shop.database.close()
    file = Path(kept.settings.database.removeprefix("sqlite:///"))
    file.write_bytes(b"no database at all, but large enough to be looked at" * 100)
    done = kept.restore(made.folder)
    assert (Path(done.aside) / file.name).read_bytes().startswith(b"no database at all")
    assert_invariants(kept.shop.database)


@pytest.mark.parametrize("new_database_url", ["postgresql"], indirect=True)
def test_a_filled_database_is_refused_without_being_told_to_replace(kept: Kept) -> None:
    made = kept.backup()
    with pytest.raises(BackupFailed, match="--replace"):
        kept.restore(made.folder, replace=False)
    assert_invariants(kept.shop.database)
