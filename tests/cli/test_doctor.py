from __future__ import annotations

import datetime as dt
import json
from dataclasses import replace
from pathlib import Path
from shutil import disk_usage

import pytest
from sqlalchemy import text

from api.backing import Shelf
from api.cli.doctoring.backups import backups
from api.cli.doctoring.certificate import certificate
from api.cli.doctoring.certificate import judged as judged_certificate
from api.cli.doctoring.database import judged
from api.cli.doctoring.machine import clock, disk
from api.domain.chain import event_chain
from api.domain.events import NO_PREVIOUS, hash_of
from api.domain.proof import first_fault
from api.domain.records import StoredEvent
from api.security.authority import CertificateFacts
from api.settings import Settings
from api.storage.engine import Database
from tests.cli.conftest import Run
from tests.support.shop import Shop

NOW = dt.datetime(2027, 1, 10, 12, tzinfo=dt.UTC)


def alter(database: Database, *statements: str) -> None:
    with database.writer.begin() as connection:
        for statement in statements:
            connection.execute(text(statement))


def line_of(output: str, subject: str) -> str:
    return next(line for line in output.splitlines() if line[11:].startswith(subject))


def test_a_sound_shop_gets_ok_on_every_line(run: Run, shop: Shop) -> None:
    assert run("backup").exit_code == 0
    result = run("doctor")
    words = [line.split()[0] for line in result.output.splitlines()]
    assert set(words) == {"ok"}, result.output
    assert len(words) == 14
    assert result.exit_code == 0


def test_the_same_for_programs(run: Run, shop: Shop) -> None:
    run("backup")
    told = json.loads(run("doctor", "--json").output)
    assert {one["subject"] for one in told} >= {"clock", "disk space", "certificate", "chain head"}
    assert all(one["ok"] and not one["todo"] for one in told)


def test_a_shop_without_backup_and_checkpoint_is_told_to_make_them(run: Run, shop: Shop) -> None:
    result = run("doctor")
    assert result.exit_code == 1
    assert line_of(result.output, "backup").startswith("attention")
    assert line_of(result.output, "checkpoint").startswith("attention")
    assert "Run 'clampbook backup'" in result.output


def test_keys_that_others_can_read_need_attention(run: Run, shop: Shop, data: Path) -> None:
    (data / "keys/sealing.pem").chmod(0o644)
    result = run("doctor")
    assert "sealing.pem can be read by others" in result.output
    assert "chmod -R go=" in result.output


def test_a_disk_that_is_nearly_full_needs_attention(data: Path) -> None:
    data.mkdir()
    assert "nothing is written" in disk(data, 1 << 60).todo
    assert "before the next setup" in disk(data, disk_usage(data).free // 2).todo
    assert not disk(data, 1).todo


@pytest.mark.parametrize(
    ("engine", "found", "fine"),
    [
        ("sqlite", (3, 37, 2), False),
        ("sqlite", (3, 38, 0), True),
        ("postgresql", (12, 9), False),
        ("postgresql", (13, 0), True),
    ],
)
def test_an_engine_that_is_too_old_needs_attention(
    engine: str, found: tuple[int, ...], fine: bool
) -> None:
    assert (not judged(engine, found).todo) == fine


def test_a_checkpoint_that_the_chain_does_not_meet_needs_attention(
    run: Run, shop: Shop, data: Path
) -> None:
    run("backup")
    file = data / "checkpoints/checkpoints.jsonl"
    told = json.loads(file.read_text().splitlines()[-1])
    file.write_text(json.dumps(told | {"head": "0" * 64}) + "\n")
    assert "is not signed by a key of this shop" in line_of(run("doctor").output, "checkpoint")


def test_a_rewritten_chain_does_not_meet_the_signed_checkpoint(run: Run, shop: Shop) -> None:
    run("backup")
    alter(
        shop.database,
        "DROP TRIGGER journal_no_delete",
        "DROP TRIGGER event_no_delete",
        "DELETE FROM signature",
        "DELETE FROM journal WHERE seq > 20",
        "DELETE FROM event WHERE seq > 20",
    )
    result = run("doctor")
    assert "every hash and chain fits" in result.output
    assert "does not fit the chain in the database" in line_of(result.output, "checkpoint")


def test_a_backup_that_was_changed_or_is_old_needs_attention(
    run: Run, shop: Shop, data: Path
) -> None:
    run("backup")
    shelf = Shelf(data / "backups")
    newest = shelf.newest()
    assert newest is not None
    later = newest.at + dt.timedelta(hours=2)
    assert not backups(shelf, 1, later).todo
    assert backups(shelf, 1, later + dt.timedelta(hours=2)).todo
    (newest.folder / "clampbook.sqlite3").write_bytes(b"")
    assert "no longer whole" in backups(shelf, 1, later).found


def test_a_backup_that_failed_is_told_with_its_reason(run: Run, shop: Shop, data: Path) -> None:
    run("backup")
    Shelf(data / "backups").note_failure("The disk is full.", NOW)
    answer = backups(Shelf(data / "backups"), 1)
    assert "the last try failed" in answer.found
    assert answer.todo.startswith("The disk is full.")


@pytest.mark.parametrize(
    ("days_left", "authority_days", "name", "word"),
    [
        (90, 3000, "", ""),
        (90, 3000, "clampbook.lan", ""),
        (3, 3000, "", "good until"),
        (-1, 3000, "", "it has ended"),
        (90, 3000, "other.lan", "does not name other.lan"),
        (90, 5, "", "its authority ends soon"),
    ],
)
def test_a_certificate_is_judged_by_its_days_and_names(
    days_left: float, authority_days: float, name: str, word: str
) -> None:
    ends = NOW + dt.timedelta(days=days_left)
    facts = CertificateFacts(
        "own", ("clampbook.lan",), "shop", "ab", ends, days_left, authority_days
    )
    answer = judged_certificate(facts, name)
    assert bool(answer.todo) == bool(word)
    assert word in answer.found


def test_a_certificate_file_that_is_not_there_needs_attention(tmp_path: Path) -> None:
    settings = Settings(
        data=tmp_path, tls="files", tls_cert=tmp_path / "a.pem", tls_key=tmp_path / "b.pem"
    )
    assert "cannot be read" in certificate(settings).found
    assert certificate(settings).todo


def test_an_altered_event_is_named(run: Run, shop: Shop) -> None:
    alter(
        shop.database,
        "DROP TRIGGER event_no_update",
        "UPDATE event SET text = replace(text, '12.0', '21.0') WHERE kind = 'clamp tightened'",
    )
    result = run("doctor")
    assert result.exit_code == 1
    assert "was altered: its text does not fit its hash" in result.output
    assert "the guard event_no_update is missing" in result.output


def test_a_removed_event_shows_at_the_next_one(run: Run, shop: Shop) -> None:
    alter(shop.database, "DROP TRIGGER event_no_delete", "DELETE FROM event WHERE seq = 3")
    result = run("doctor")
    assert result.exit_code == 1
    assert "event 4" in result.output
    assert "does not follow what was written before it" in result.output


def test_an_event_whose_chain_was_rewritten_still_betrays_its_tablets_chain(shop: Shop) -> None:
    with shop.reader as uow:
        log = uow.events.after(0, 500)
    without_third = [event for event in log if event.n != 3]
    relinked = relink(without_third)
    assert first_fault(relinked) == ("", len(relinked))
    moved = relink([log[0], *(renumbered(event) for event in log[2:])])
    fault, _ = first_fault(moved)
    assert "does not fit the other events of its tablet" in fault


@pytest.mark.parametrize("year", [2020, 2026])
def test_a_clock_before_the_newest_record_or_before_this_version_needs_attention(year: int) -> None:
    answer = clock(dt.datetime(year, 11, 2, tzinfo=dt.UTC), NOW)
    assert answer.todo


def test_a_clock_after_the_newest_record_is_fine() -> None:
    assert not clock(NOW, NOW - dt.timedelta(hours=1)).todo


def relink(log: list[StoredEvent]) -> list[StoredEvent]:
    """The server's chain made anew over these events, as somebody with the whole database could."""
    chain, made = NO_PREVIOUS, []
    for event in log:
        chain = event_chain(chain, event)
        made.append(replace(event, chain=chain))
    return made


def renumbered(event: StoredEvent) -> StoredEvent:
    """The event moved up by one in its tablet's own count, to close the gap of a removed one."""
    body = json.loads(event.text)
    body["n"] -= 1
    changed = json.dumps(body)
    return replace(event, n=event.n - 1, text=changed, hash=hash_of(changed))
