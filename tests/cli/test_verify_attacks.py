"""Somebody with the whole database, who takes the guards away and puts them back afterwards."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
import sqlalchemy as sa

from api.domain.checkpoints import parse_checkpoint
from api.security.checkpoint_file import open_notary
from tests.cli.proving import Verify
from tests.support.proving import Line, Place, alter, rewritten, unguarded
from tests.support.script import key_of

SET_TEXT = "UPDATE event SET text = replace(text, '12.0', '21.0') WHERE kind = 'clamp tightened'"
EDITS = {
    "a text": (SET_TEXT, "was altered: its text does not fit its hash"),
    "a person": ("UPDATE event SET person = 'B-02' WHERE seq = 7", "column 'person' differs"),
    "a step": ("UPDATE event SET step = 'clean' WHERE seq = 9", "column 'step' differs"),
    "a time": ("UPDATE event SET at = '2026-11-24T08:00:00.000000Z' WHERE seq = 7", "column 'at'"),
    "a mark": ("UPDATE event SET flags = '[]' WHERE flags <> '[]'", "does not follow"),
    "an arrival": (
        "UPDATE event SET received_at = '2026-11-23T08:00:00.000000Z' WHERE seq = 7",
        "event 7",
    ),
    "a signature of a tablet": ("UPDATE event SET sig = NULL WHERE seq = 7", "event 7"),
    "an outcome": ("UPDATE event SET outcome = 'refused' WHERE seq = 7", "is marked 'refused'"),
    "a form": ("UPDATE event SET form = 1 WHERE seq = 7", "claims to be older"),
    "an entry": (
        "UPDATE journal SET body = replace(body, 'confirmed', 'refused') WHERE kind = 'verdict'",
        "(verdict) was altered",
    ),
    "who made an entry": ("UPDATE journal SET \"by\" = 'B-09' WHERE seq = 1", "entry 1"),
    "a verdict": ("UPDATE signature SET verdict = 'refused'", "is not the last one in the journal"),
    "what was set aside": ("UPDATE set_aside SET text = 'nothing'", "does not fit its hash"),
    "why it was set aside": ("UPDATE set_aside SET reason = 'x'", "is not what the journal says"),
    "a tablet's key": (
        f"UPDATE tablet SET key = '{key_of('tab-2').public}' WHERE id = 'tab-1'",
        "has another key than it was enrolled with",
    ),
    "a tablet's revocation": (
        "UPDATE tablet SET revoked_at = '2026-11-24T08:00:00.000000Z'",
        "and the journal does not",
    ),
    "a tablet's count": ("UPDATE tablet SET highest = 99", "its events do not"),
    "the counter": ("UPDATE counter SET value = 99 WHERE name = 'seq'", "counter of records"),
    "the epoch": ("UPDATE shop_meta SET value = 'e' WHERE name = 'epoch'", "The shop's epoch"),
}
READING = (
    "plate, point, state, value_mm, value, unit, source, indicator, person, at, seq, entry, final"
)
DELETIONS = {
    "an event": ("DELETE FROM event WHERE seq = 7", "event 8"),
    "the first": ("DELETE FROM journal WHERE seq = 1", "entry 2"),
    "an entry": ("DELETE FROM journal WHERE kind = 'set aside'", "a number is missing"),
    "a verdict": ("DELETE FROM signature", "has no verdict"),
    "what was set aside": ("DELETE FROM set_aside", "is in the journal and not here"),
    "a tablet": ("DELETE FROM tablet WHERE id = 'tab-2'", "not in the list of tablets"),
}


@pytest.mark.parametrize("what", EDITS)
def test_an_edit_is_found_at_its_row(place: Place, verify: Verify, what: str) -> None:
    statement, words = EDITS[what]
    alter(place.database, statement)
    result = verify()
    assert result.exit_code == 1
    assert words in result.output
    assert verify.everywhere() != ""


@pytest.mark.parametrize("what", DELETIONS)
def test_a_deletion_is_found(place: Place, verify: Verify, what: str) -> None:
    statement, words = DELETIONS[what]
    gone = ["DELETE FROM tablet_session"] if what == "a tablet" else []
    alter(place.database, *gone, statement)
    result = verify()
    assert result.exit_code == 1
    assert words in result.output
    assert verify.everywhere() != ""


def test_two_events_that_change_places_are_found(place: Place, verify: Verify) -> None:
    moves = [(7, 1007), (8, 7), (1007, 8)]
    alter(place.database, *(f"UPDATE event SET seq = {to} WHERE seq = {at}" for at, to in moves))
    assert "event 7" in verify().output
    assert verify.everywhere() != ""


def test_an_event_replaced_with_the_chain_made_anew_lacks_its_tablets_signature(
    place: Place, verify: Verify
) -> None:
    def change(log: list[Line]) -> list[Line]:
        return [
            {**one, "text": one["text"].replace('"12.0"', '"21.0"')} if "text" in one else one
            for one in without_checkpoints(log)
        ]

    rewritten(place, change)
    result = verify()
    assert result.exit_code == 1
    assert "is not signed by the key of tablet tab-1" in result.output
    assert "not signed by its tablet" in verify.everywhere()


def test_a_checkpoint_that_the_chain_made_anew_carries_on_is_found_at_its_entry(
    place: Place, verify: Verify
) -> None:
    rewritten(place, lambda log: [one for one in log if one.get("kind") != "set aside"])
    result = verify()
    assert result.exit_code == 1
    assert "(checkpoint) does not fit the rows before it" in result.output
    assert verify.everywhere() != ""


def test_the_tail_cut_off_cleanly_is_found_by_the_checkpoints_outside(
    place: Place, verify: Verify
) -> None:
    last = parse_checkpoint(place.file.read_text().splitlines()[-1])
    rewritten(place, lambda log: [one for one in log if one["seq"] < last.seq])
    assert verify.dumped_alone().exit_code == 0
    result = verify()
    assert result.exit_code == 1
    assert f"counts records up to number {last.seq}" in result.output
    assert "the end was cut off" in result.output
    assert "reaches beyond the end" in verify.everywhere()


def test_the_whole_chain_made_anew_is_found_by_the_checkpoints_outside(
    place: Place, verify: Verify
) -> None:
    def change(log: list[Line]) -> list[Line]:
        """As if the second tablet had never been here, and no checkpoint made since."""
        return [one for one in without_checkpoints(log) if one.get("tablet") != "tab-2"]

    rewritten(place, change)
    for _ in range(20):
        place.note("nothing is missing")
    assert verify.dumped_alone().exit_code == 0
    result = verify()
    assert result.exit_code == 1
    assert "is not met" in result.output
    assert "is not met" in verify.everywhere()


def test_a_chain_made_anew_with_a_key_of_ones_own_is_found(
    place: Place, verify: Verify, tmp_path: Path
) -> None:
    rewritten(place, without_checkpoints)
    place.notary = open_notary(tmp_path / "forged", tmp_path / "elsewhere")
    place.checkpoint("forged")
    result = verify()
    assert result.exit_code == 1
    assert "which is not known here" in result.output
    assert "unknown key" in verify.everywhere()


def test_the_file_of_checkpoints_cut_shorter_is_found(place: Place, verify: Verify) -> None:
    lines = place.file.read_text().splitlines(keepends=True)
    place.file.write_text("".join(lines[:-1]))
    result = verify()
    assert result.exit_code == 1
    assert "is not in the file of checkpoints" in result.output
    assert verify.everywhere() != ""
    place.file.unlink()
    assert "is not in the file of checkpoints" in verify().output
    assert verify.everywhere() != ""


def test_a_changed_line_of_the_file_of_checkpoints_is_found(place: Place, verify: Verify) -> None:
    lines = place.file.read_text().splitlines()
    told = json.loads(lines[-1])
    told["count"] -= 1
    place.file.write_text("\n".join([*lines, json.dumps(told)]) + "\n")
    result = verify()
    assert result.exit_code == 1
    assert "is not signed by the shop" in result.output
    assert verify.everywhere() != ""


def test_a_checkpoint_of_another_shop_is_found(place: Place, verify: Verify) -> None:
    with place.shop.uow as uow:
        epoch = uow.shop.meta().epoch
        uow.shop.set_epoch("another")
        uow.commit()
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("api.storage.queries.journal.SqlJournal.add", lambda *_: None)
        place.checkpoint()
    with place.shop.uow as uow:
        uow.shop.set_epoch(epoch)
        uow.commit()
    assert "is of epoch another, which this database does not know" in verify().output
    assert "unknown epoch" in verify.everywhere()


def test_a_guard_that_was_taken_away_is_named(place: Place, verify: Verify) -> None:
    drop = "DROP TRIGGER journal_no_delete"
    with place.database.writer.begin() as connection:
        connection.execute(sa.text(drop + ("" if place.database.is_sqlite else " ON journal")))
    result = verify()
    assert result.exit_code == 1
    assert "journal_no_delete" in result.output


@pytest.mark.parametrize(
    ("statement", "words"),
    [
        ("UPDATE setup SET phase = 'abandoned'", "is listed otherwise than its records say"),
        ("UPDATE reading SET value = '0.00'", "has other readings"),
        ("UPDATE tool_use SET pulls = pulls + 1", "has other pulls of tool T-03"),
        ("UPDATE reading SET setup = 'nowhere'", "has other readings"),
        (
            f"INSERT INTO reading SELECT 'x', 'y', {READING} FROM reading LIMIT 1",
            "that no record speaks of",
        ),
    ],
)
def test_lists_that_differ_from_the_records_are_found(
    place: Place, verify: Verify, statement: str, words: str
) -> None:
    with unguarded(place.database) as connection:
        connection.execute(sa.text(statement))
    result = verify()
    assert result.exit_code == 1
    assert words in result.output


def without_checkpoints(log: list[Line]) -> list[Line]:
    return [one for one in log if one.get("kind") != "checkpoint"]
