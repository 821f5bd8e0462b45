"""What the server does with what tablets send."""

from __future__ import annotations

import json
from typing import Any

import pytest

from api.domain.events import Event
from api.domain.proof import first_fault
from api.domain.records import StoredEvent
from api.use_cases import records
from api.use_cases.proof import written
from api.use_cases.records import Accepted
from api.use_cases.setups import get_setup
from tests.support.script import Tablet
from tests.support.shop import SETUP, STEPS, Shop


def push(shop: Shop, tablet: Tablet, texts: list[Any] | None = None) -> Accepted:
    return shop.push(tablet, texts)


def log(shop: Shop) -> list[StoredEvent]:
    with shop.reader as uow:
        return uow.events.after(0, 10_000)


def outcomes(taken: Accepted) -> list[str]:
    return [one.outcome for one in taken.results]


def flags(taken: Accepted) -> dict[str, int]:
    found: dict[str, int] = {}
    for one in taken.results:
        for flag in one.flags:
            found[flag] = found.get(flag, 0) + 1
    return found


def started(shop: Shop, until: str | None = "torque/1/C1") -> tuple[Tablet, list[Event]]:
    tablet = shop.tablet()
    return tablet, [tablet.open(), *tablet.work(STEPS, until)]


def test_events_are_stored_in_order_with_both_chains(shop: Shop) -> None:
    tablet, events = started(shop)
    taken = push(shop, tablet)
    assert outcomes(taken) == ["stored"] * len(events)
    assert taken.contiguous == len(events)
    assert flags(taken) == {}
    stored = log(shop)
    assert [one.text for one in stored] == tablet.texts
    assert [one.seq for one in stored] == sorted(one.seq for one in stored)
    with shop.reader as uow:
        assert first_fault(written(uow)) == ("", len(stored) + len(uow.journal.after(0, 100)))


def test_a_second_push_of_the_same_events_stores_them_once(shop: Shop) -> None:
    tablet, events = started(shop)
    first = push(shop, tablet)
    second = push(shop, tablet)
    assert outcomes(second) == ["already"] * len(events)
    assert [one.seq for one in second.results] == [one.seq for one in first.results]
    assert len(log(shop)) == len(events)
    assert second.head == first.head


def test_the_same_id_with_other_bytes_is_set_aside_and_its_neighbours_stored(shop: Shop) -> None:
    tablet, _ = started(shop, "free/C1")
    push(shop, tablet, tablet.texts[:2])
    forged = json.loads(tablet.texts[1]) | {"person": "B-02"}
    taken = push(shop, tablet, [json.dumps(forged), *tablet.texts[2:4]])
    assert outcomes(taken) == ["set aside", "stored", "stored"]
    assert taken.results[0].id == forged["id"]
    assert "already" in (taken.results[0].message or "")
    assert [one.text for one in log(shop)] == tablet.texts[:4]


def test_another_event_with_a_used_number_is_set_aside(shop: Shop) -> None:
    tablet, _ = started(shop, "free/C1")
    push(shop, tablet)
    clone = shop.tablet()
    clone.open()
    taken = push(shop, clone)
    assert outcomes(taken) == ["set aside"]
    assert "number 1" in (taken.results[0].message or "")


RUBBISH: list[Any] = [
    "",
    "not json",
    "[]",
    "{}",
    '"\\ud800"',
    "\ud800 half a character",
    "a\0b",
    '{"id": ' * 4_000,
    "x" * 2_000_000,
    17,
    None,
    {"id": "an object, not its text"},
    [["a", ["list"]]],
]


def test_what_is_no_event_is_set_aside_whole_and_blocks_nothing(shop: Shop) -> None:
    tablet, events = started(shop, "free/C1")
    middle = len(events) // 2
    taken = push(shop, tablet, [*tablet.texts[:middle], *RUBBISH, *tablet.texts[middle:]])
    assert outcomes(taken) == [
        *["stored"] * middle,
        *["set aside"] * len(RUBBISH),
        *["stored"] * (len(events) - middle),
    ]
    with shop.reader as uow:
        kept = uow.events.set_asides(1, 20).items[::-1]
    assert all(one.reason for one in kept)
    whole = [json.loads(one.text) if one.escaped else one.text for one in kept]
    assert whole == [one if isinstance(one, str) else json.dumps(one) for one in RUBBISH]


def test_the_same_rubbish_sent_twice_is_kept_once(shop: Shop) -> None:
    tablet = shop.tablet()
    push(shop, tablet, ["rubbish", "rubbish"])
    push(shop, tablet, ["rubbish"])
    with shop.reader as uow:
        assert uow.events.set_asides(1, 10).total == 1


def test_batches_out_of_order_end_in_the_same_state_as_in_order(shop: Shop) -> None:
    tablet, events = started(shop, "recheck/C2")
    for start in range(len(events) - 4, -4, -4):
        push(shop, tablet, tablet.texts[max(start, 0) : start + 4])
    record = get_setup(shop.reader, SETUP)
    assert record.state.odd == []
    assert record.summary is not None
    assert record.summary.step == "recheck/C2"
    with shop.reader as uow:
        found = uow.tablets.get(tablet.name)
    assert found is not None
    assert found.contiguous == len(events)


def test_a_missing_event_leaves_a_gap_that_is_flagged_and_later_filled(shop: Shop) -> None:
    tablet, events = started(shop, "free/C1")
    early = push(shop, tablet, [*tablet.texts[:2], *tablet.texts[3:]])
    assert early.contiguous == 2
    assert flags(early) == {"gap": len(events) - 3}
    late = push(shop, tablet, tablet.texts[2:3])
    assert late.contiguous == len(events)
    assert flags(late) == {}


def test_a_broken_chain_of_a_tablet_is_flagged_and_stored(shop: Shop) -> None:
    tablet, _ = started(shop, "free/C1")
    altered = json.loads(tablet.texts[2]) | {"prev": "ab" * 32}
    taken = push(shop, tablet, [*tablet.texts[:2], json.dumps(altered), tablet.texts[3]])
    assert outcomes(taken) == ["stored"] * 4
    assert "chain broken" in taken.results[2].flags
    assert "chain broken" in taken.results[3].flags


def test_a_late_neighbour_that_does_not_fit_breaks_the_chain(shop: Shop) -> None:
    tablet, _ = started(shop, "free/C1")
    push(shop, tablet, [tablet.texts[0], tablet.texts[2]])
    altered = json.loads(tablet.texts[1]) | {"build": "other"}
    assert push(shop, tablet, [json.dumps(altered)]).results[0].flags == ("chain broken",)


def flagged(shop: Shop, **changes: Any) -> tuple[str, ...]:
    tablet = shop.tablet()
    tablet.open(**changes)
    return push(shop, tablet).results[0].flags


def test_an_unknown_revision_is_stored_and_flagged(shop: Shop) -> None:
    assert flagged(shop, revision="Z") == ("unknown revision",)


def test_a_revision_with_another_hash_is_stored_and_flagged(shop: Shop) -> None:
    assert flagged(shop, revision_hash="cd" * 32) == ("revision differs",)


def test_an_unknown_plate_is_stored_and_flagged(shop: Shop) -> None:
    assert flagged(shop, plate="XX-1") == ("unknown plate",)


def test_unknown_tools_are_stored_and_flagged(shop: Shop) -> None:
    frozen = {"tool": {"serial": "T-99"}, "indicator": {"serial": "I-99"}}
    assert flagged(shop, frozen=frozen) == ("tool unknown", "indicator unknown")


def test_unknown_inactive_and_unentitled_people_are_stored_and_flagged(shop: Shop) -> None:
    with shop.uow as uow:
        gone = uow.people.get("B-02")
        assert gone is not None
        uow.people.save(gone.model_copy(update={"active": False}))
        uow.commit()
    tablet, _ = started(shop, "free/C1")
    tablet.person = "B-77"
    tablet.write("note", None, text="who is this")
    tablet.person = "B-02"
    tablet.write("note", None, text="left last week")
    tablet.person = "B-01"
    tablet.write("judged", "judge", judgement="accept", reason="looks fine")
    taken = push(shop, tablet)
    assert [one.flags for one in taken.results[-3:]] == [
        ("unknown person",),
        ("person inactive",),
        ("role lacking",),
    ]


@pytest.mark.parametrize(
    ("at", "offset", "suspect"),
    [
        ("2028-11-24T09:00:00.000Z", None, True),
        ("2026-11-24T09:01:00.000Z", None, False),
        ("2026-11-24T09:02:30.000Z", None, True),
        ("2026-11-23T09:00:00.000Z", None, False),
        ("2026-11-24T09:00:00.000Z", -130_000, True),
        ("2026-11-24T09:00:00.000Z", 100_000, False),
    ],
)
def test_a_clock_more_than_two_minutes_off_is_flagged(
    shop: Shop, at: str, offset: float | None, suspect: bool
) -> None:
    tablet = shop.tablet()
    tablet.open()
    altered = json.loads(tablet.texts[0]) | {"at": at, "clock_offset": offset}
    found = push(shop, tablet, [json.dumps(altered)]).results[0].flags
    assert (found == ("clock suspect",)) is suspect


def test_an_overdue_tool_is_flagged_by_date(shop: Shop) -> None:
    tablet, _ = started(shop, "torque/1/C1")
    late = [json.loads(text) | {"at": "2027-06-02T00:00:00.000Z"} for text in tablet.texts]
    shop.clock.forward(365 * 86_400)
    taken = push(shop, tablet, [json.dumps(one) for one in late])
    assert "tool overdue" in taken.results[-1].flags


def test_locking_with_an_open_clamp_is_flagged(shop: Shop) -> None:
    tablet, _ = started(shop, "torque/2/C1")
    tablet.write("step done", "lock")
    assert push(shop, tablet).results[-1].flags == ("locked with open clamps",)


def test_two_tablets_on_one_step_are_both_stored_and_flagged(shop: Shop) -> None:
    one, _ = started(shop, "torque/2/C1")
    other = shop.tablet("tab-2", person="B-02")
    one.tighten("torque/2/C1")
    other.tighten("torque/2/C1")
    push(shop, one)
    taken = push(shop, other)
    assert taken.results[0].flags == ("two answers",)
    summary = get_setup(shop.reader, SETUP).summary
    assert summary is not None
    assert "two answers" in summary.flags


def test_an_event_carried_by_another_tablet_keeps_its_own_number(shop: Shop) -> None:
    tablet, events = started(shop, "free/C1")
    taken = shop.push(tablet, sender=shop.tablet("tab-9").name)
    assert flags(taken) == {"sent by another tablet": len(events)}
    assert taken.contiguous == 0
    assert push(shop, tablet, []).contiguous == len(events)


def test_numbers_of_pull_are_the_numbers_of_push(shop: Shop) -> None:
    tablet, events = started(shop)
    taken = push(shop, tablet)
    pulled = records.pull(shop.reader, shop.means, 0, 3)
    assert pulled.more
    assert [one.seq for one in pulled.events] == [one.seq for one in taken.results[:3]]
    rest = records.pull(shop.reader, shop.means, pulled.events[-1].seq)
    assert not rest.more
    assert len(rest.events) == len(events) - 3
    assert rest.head == taken.head
