"""The chain: no row can be changed, moved, left out or put in without the next one showing it."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from dataclasses import replace

from hypothesis import given
from hypothesis import strategies as st

from api.domain.chain import NO_PREVIOUS, entry_chain, event_chain, moment, text_hash
from api.domain.proof import Fault, Written, first_fault
from api.domain.proof.rows import Chain
from api.domain.proof.tablets import Runs
from api.domain.records import JournalEntry, StoredEvent

AT = st.datetimes(dt.datetime(2, 1, 1), dt.datetime(9998, 1, 1), timezones=st.just(dt.UTC))  # noqa: DTZ001
TEXT = st.text(max_size=8)
ENTRY = st.builds(
    JournalEntry,
    seq=st.just(0),
    kind=st.sampled_from(("verdict", "set aside", "person")),
    subject=TEXT,
    body=TEXT,
    hash=st.just(""),
    at=AT,
    by=st.none() | TEXT,
    chain=st.just(""),
)
INSTANT = dt.timedelta(microseconds=1)
CHANGES: dict[str, Callable[[JournalEntry], JournalEntry]] = {
    "body": lambda one: replace(one, body=f"{one.body}x"),
    "hash": lambda one: replace(one, hash=text_hash(one.hash)),
    "subject": lambda one: replace(one, subject=f"{one.subject}x"),
    "kind": lambda one: replace(one, kind="secret"),
    "by": lambda one: replace(one, by=f"{one.by}x"),
    "seq": lambda one: replace(one, seq=one.seq + 1),
    "at": lambda one: replace(one, at=one.at + INSTANT),
}
LOG = st.lists(ENTRY, min_size=2, max_size=8)


def linked(log: list[JournalEntry]) -> list[JournalEntry]:
    head, made = NO_PREVIOUS, []
    for seq, entry in enumerate(log, start=1):
        fresh = replace(entry, seq=seq, hash=text_hash(entry.body))
        head = entry_chain(head, fresh)
        made.append(replace(fresh, chain=head))
    return made


def event(seq: int, **changes: object) -> StoredEvent:
    at = dt.datetime(2026, 11, 25, tzinfo=dt.UTC)
    made = StoredEvent(
        seq, "id", "tab", 1, "setup", "note", None, None, at, at, "{}", text_hash("{}"), "", ()
    )
    return replace(made, **changes)  # type: ignore[arg-type]


@given(LOG)
def test_a_chain_as_it_was_written_fits(log: list[JournalEntry]) -> None:
    assert first_fault(linked(log)) == ("", len(log))


@given(LOG, st.data())
def test_any_row_left_out_shows_at_the_next(log: list[JournalEntry], data: st.DataObject) -> None:
    whole = linked(log)
    place = data.draw(st.integers(0, len(whole) - 2))
    assert first_fault(whole[:place] + whole[place + 1 :])[1] == place


@given(LOG, st.data())
def test_two_rows_that_change_places_show(log: list[JournalEntry], data: st.DataObject) -> None:
    whole = linked(log)
    place = data.draw(st.integers(0, len(whole) - 2))
    whole[place], whole[place + 1] = whole[place + 1], whole[place]
    assert first_fault(whole)[1] == place


@given(LOG, st.data(), st.sampled_from(sorted(CHANGES)))
def test_any_field_that_is_changed_shows_at_its_row(
    log: list[JournalEntry], data: st.DataObject, field: str
) -> None:
    whole = linked(log)
    place = data.draw(st.integers(0, len(whole) - 1))
    whole[place] = CHANGES[field](whole[place])
    assert first_fault(whole)[1] == place


@given(LOG, TEXT)
def test_a_body_changed_with_its_hash_shows_at_its_row(log: list[JournalEntry], body: str) -> None:
    whole = linked(log)
    if body != whole[0].body:
        whole[0] = replace(whole[0], body=body, hash=text_hash(body))
        assert first_fault(whole)[1] == 0


def test_every_part_of_an_event_that_the_server_added_is_in_its_link() -> None:
    one = event(5)
    later = one.received_at + dt.timedelta(microseconds=1)
    changes: list[dict[str, object]] = [
        {"flags": ("gap",)},
        {"hash": text_hash("x")},
        {"id": "other"},
        {"received_at": later},
        {"seq": 6},
        {"sig": "c2ln"},
    ]
    values = {event_chain(NO_PREVIOUS, replace(one, **change)) for change in changes}  # type: ignore[arg-type]
    assert len({*values, event_chain(NO_PREVIOUS, one)}) == len(changes) + 1
    assert event_chain(NO_PREVIOUS, replace(one, form=1)) == text_hash(NO_PREVIOUS + one.hash)


def test_links_of_events_and_entries_never_meet() -> None:
    """They have different fields, so no event can be passed off as an entry."""
    at = dt.datetime(2026, 11, 25, tzinfo=dt.UTC)
    entry = JournalEntry(5, "verdict", "id", "{}", text_hash("{}"), at, None, "")
    assert entry_chain(NO_PREVIOUS, entry) != event_chain(NO_PREVIOUS, event(5))


@given(AT, st.integers(-14 * 60, 14 * 60))
def test_a_moment_has_one_text_whatever_its_zone(at: dt.datetime, minutes: int) -> None:
    zone = dt.timezone(dt.timedelta(minutes=minutes))
    assert moment(at.astimezone(zone)) == moment(at)
    assert len(moment(at)) == 27
    assert dt.datetime.fromisoformat(moment(at)) == at


@given(st.lists(st.integers(1, 12), unique=True).flatmap(st.permutations))
def test_gaps_are_what_never_came_in_whatever_order(numbers: list[int]) -> None:
    runs = Runs()
    for n in numbers:
        assert not runs.has("tab", n)
        assert runs.add("tab", n, hash_at(n - 1), hash_at(n))
        assert runs.has("tab", n)
    told = {n for _, first, last in runs.gaps() for n in range(first, last + 1)}
    assert told == set(range(1, max(numbers, default=0) + 1)) - set(numbers)
    if numbers:
        whole = next(n for n in range(1, 14) if n not in numbers) - 1
        assert runs.ends() == {"tab": (whole, max(numbers))}


@given(st.permutations(range(1, 7)), st.integers(1, 6))
def test_one_event_that_fits_no_neighbour_is_found_in_whatever_order(
    numbers: list[int], odd: int
) -> None:
    runs = Runs()
    fits = [runs.add("tab", n, hash_at(n - 1), "x" if n == odd else hash_at(n)) for n in numbers]
    assert all(fits) == (odd == 6)


def hash_at(n: int) -> str:
    return text_hash(str(n)) if n else NO_PREVIOUS


def test_numbers_go_up_by_one_once_the_journal_has_begun() -> None:
    chain = Chain()
    chain.move_to(event(1, form=1))
    for row, fits in ((event(3, form=1), True), (event(3), True), (event(1), False)):
        assert accepted(chain, row) is fits
    chain.move_to(event(3))
    for row, fits in ((event(4), True), (event(5), False), (event(4, form=1), False)):
        assert accepted(chain, row) is fits


def accepted(chain: Chain, row: Written) -> bool:
    try:
        chain.check_order(row)
    except Fault:
        return False
    return True
