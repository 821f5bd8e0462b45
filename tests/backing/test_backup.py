"""A copy counts when it is whole, checked and described; the watermark follows it."""

from __future__ import annotations

import json
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest
from sqlalchemy import text

from api.backing import BackupFailed, locks
from api.backing.manifest import altered
from api.backing.reading import read_copy
from api.domain.chain import canonical
from api.domain.errors import ClampbookError
from api.security.checkpoint_file import open_notary
from tests.backing.conftest import Kept
from tests.support.invariants import all_sent, assert_invariants

SETUP = "01920000-0000-7000-8000-000000000abc"


def test_a_backup_holds_everything_up_to_its_number_and_the_watermark_follows(kept: Kept) -> None:
    tablet = kept.work("tab-1", SETUP)
    made = kept.backup()
    told = made.manifest
    assert made.folder.name.startswith("clampbook-20261124T090000Z")
    assert altered(made.folder, told) == ""
    with kept.shop.reader as uow:
        assert uow.events.chain_head() == (told.seq, told.head)
        assert uow.shop.meta().watermark == told.seq
        assert uow.shop.meta().epoch == told.epoch
        assert told.count == uow.events.count() + uow.journal.count()
    content = read_copy(made.folder / told.copy)
    assert (content.seq, content.head, content.fault) == (told.seq, told.head, "")
    assert kept.shop.push(tablet).watermark == told.seq
    assert kept.shelf.failure() is None
    assert_invariants(kept.shop.database, [all_sent("tab-1", tablet.texts)])


def test_the_manifest_carries_a_checkpoint_signed_by_the_shop(kept: Kept) -> None:
    made = kept.backup()
    signed = dict(made.manifest.checkpoint or {})
    signature = signed.pop("signature")
    notary = open_notary(kept.settings.keys, kept.settings.checkpoints_folder)
    assert notary.signed(signed["key"], canonical(signed), signature)
    assert signed["why"] == "backup"
    assert signed["seq"] < made.manifest.seq


def test_only_the_owner_can_read_a_backup_and_the_keys_are_in_it(kept: Kept) -> None:
    made = kept.backup()
    assert (made.folder / "keys/sealing.pem").read_bytes() == (
        kept.settings.keys / "sealing.pem"
    ).read_bytes()
    for path in (made.folder, *made.folder.rglob("*")):
        assert path.stat().st_mode & 0o077 == 0, path


def test_the_copy_is_of_one_moment_although_others_write_meanwhile(kept: Kept) -> None:
    first = kept.work("tab-1", SETUP)
    before = kept.backup()
    kept.work("tab-2", SETUP.replace("abc", "abd"))
    after = kept.backup()
    assert before.folder.name != after.folder.name
    assert read_copy(before.folder / before.manifest.copy).seq == before.manifest.seq
    assert after.manifest.seq > before.manifest.seq + len(first.texts) - 1
    assert kept.shelf.newest() == after


def test_an_altered_record_is_copied_as_it_is_but_counts_for_nothing(kept: Kept) -> None:
    kept.work("tab-1", SETUP)
    good = kept.backup()
    guard = "event_no_update" + ("" if kept.shop.database.is_sqlite else " ON event")
    with kept.shop.database.writer.begin() as connection:
        connection.execute(text(f"DROP TRIGGER {guard}"))
        connection.execute(text("UPDATE event SET text = text || ' ' WHERE n = 2"))
    with pytest.raises(BackupFailed, match="was altered: its text does not fit its hash"):
        kept.backup()
    failure = kept.shelf.failure()
    assert failure is not None and "do not fit together" in failure.why
    assert kept.shelf.newest() == good
    with kept.shop.reader as uow:
        assert uow.shop.meta().watermark == good.manifest.seq


def test_two_cannot_copy_into_one_folder_at_once(kept: Kept) -> None:
    with (
        locks.alone(kept.shelf.folder / locks.MAKING, "busy"),
        pytest.raises(BackupFailed, match="Another process makes a backup"),
    ):
        kept.backup()
    assert kept.shelf.failure() is None
    assert kept.backup().good


def test_what_a_killed_try_left_does_not_count_and_is_swept_away(kept: Kept) -> None:
    half = kept.shelf.folder / ".making-clampbook-20261124T080000Z"
    half.mkdir(parents=True)
    (half / "clampbook.sqlite3").write_bytes(b"half")
    (kept.shelf.folder / "clampbook-20261124T070000Z").mkdir()
    assert kept.shelf.all() == []
    kept.backup()
    assert not half.exists()


def test_a_disk_without_room_is_said_before_anything_is_copied(kept: Kept) -> None:
    kept.settings = kept.settings.model_copy(update={"least_free_bytes": 1 << 60})
    with pytest.raises(BackupFailed, match="a backup needs"):
        kept.backup()
    assert kept.shelf.all() == []
    failure = kept.shelf.failure()
    assert failure is not None and "MB free" in failure.why


@pytest.mark.parametrize("new_database_url", ["sqlite"], indirect=True)
def test_a_damaged_database_makes_no_backup(kept: Kept) -> None:
    kept.work("tab-1", SETUP)
    file = kept.settings.database.removeprefix("sqlite:///")
    kept.shop.database.close()
    with closing(sqlite3.connect(file)) as connection:
        connection.execute("PRAGMA journal_mode = DELETE")
        page, pages = (
            connection.execute(f"PRAGMA {name}").fetchone()[0]
            for name in ("page_size", "page_count")
        )
    with Path(file).open("r+b") as raw:
        for number in range(pages // 2, pages):
            raw.seek(number * page)
            raw.write(b"\xa5" * page)
    with pytest.raises(ClampbookError, match=r"damaged|malformed|cannot be"):
        kept.backup()
    assert kept.shelf.all() == []


def test_the_manifest_is_plain_json_with_the_hash_of_every_file(kept: Kept) -> None:
    made = kept.backup()
    told = json.loads((made.folder / "manifest.json").read_text())
    files = {
        path.relative_to(made.folder).as_posix()
        for path in made.folder.rglob("*")
        if path.is_file()
    }
    assert set(told["files"]) == files - {"manifest.json"}
