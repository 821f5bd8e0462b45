from __future__ import annotations

import datetime as dt
import json
from dataclasses import replace

import pytest
from sqlalchemy import text

from api.cli.doctor import clock
from api.domain.chain import event_chain
from api.domain.events import NO_PREVIOUS, hash_of
from api.domain.proof import first_fault
from api.domain.records import StoredEvent
from api.storage.engine import Database
from tests.cli.conftest import Run
from tests.support.shop import Shop

NOW = dt.datetime(2027, 1, 10, 12, tzinfo=dt.UTC)


def alter(database: Database, *statements: str) -> None:
    with database.writer.begin() as connection:
        for statement in statements:
            connection.execute(text(statement))


def test_a_sound_shop_gets_ok_on_every_line(run: Run, shop: Shop) -> None:
    result = run("doctor")
    words = [line.split()[0] for line in result.output.splitlines()]
    assert set(words) == {"ok"}, result.output
    assert len(words) == 7
    assert result.exit_code == 0


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
