"""The demonstration shop's records hold what the records of a real shop must hold."""

from __future__ import annotations

import datetime as dt
import itertools
from collections.abc import Iterator
from pathlib import Path
from uuid import UUID

import pytest

from api.domain.errors import Clash
from api.domain.events import NO_PREVIOUS, hash_of
from api.domain.people import Person, Role
from api.domain.proof import first_fault
from api.domain.records import StoredEvent
from api.paths import share
from api.use_cases import crew
from api.use_cases.demo import demo_people, demo_stores
from api.use_cases.proof import written
from api.use_cases.records.rebuilding import rebuild
from tests.use_cases.demo_shop import TODAY, DemoShop, empty_shop

SETUPS = 16


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Iterator[DemoShop]:
    folder: Path = tmp_path_factory.mktemp("demo")
    made = empty_shop(f"sqlite:///{folder / 'demo.sqlite3'}", folder / "keys")
    made.fill(SETUPS)
    yield made
    made.database.close()


@pytest.fixture
def fresh(new_database_url: str, tmp_path: Path) -> Iterator[DemoShop]:
    made = empty_shop(new_database_url, tmp_path / "keys")
    yield made
    made.database.close()


def test_every_tablet_numbers_its_records_without_a_gap_and_chains_them(demo: DemoShop) -> None:
    last = {event["tablet"]: (0, NO_PREVIOUS) for event in demo.raw}
    for event, stored in zip(demo.raw, demo.events, strict=True):
        assert (event["n"] - 1, event["prev"]) == last[event["tablet"]]
        last[event["tablet"]] = (event["n"], hash_of(stored.text))
    with demo.uow as uow:
        known = {one.id: (one.contiguous, one.highest) for one in uow.tablets.all()}
    assert known == {tablet: (n, n) for tablet, (n, _) in last.items()}
    assert len(known) == 2


def test_the_servers_chain_runs_over_every_record(demo: DemoShop) -> None:
    with demo.uow as uow:
        rows = list(written(uow))
    assert first_fault(rows) == ("", len(rows))
    assert [row for row in rows if isinstance(row, StoredEvent)] == demo.events


def test_projections_made_anew_equal_those_kept_up_live(demo: DemoShop) -> None:
    def projections() -> tuple[object, ...]:
        with demo.uow as uow:
            return uow.setups.all(), uow.setups.readings(), uow.setups.pulls()

    live = projections()
    assert rebuild(demo.uow) == SETUPS
    assert projections() == live


def test_record_ids_carry_the_time_of_the_tap(demo: DemoShop) -> None:
    for event in demo.raw:
        made = UUID(event["id"])
        assert made.version == 7
        assert (made.int >> 80) == int(dt.datetime.fromisoformat(event["at"]).timestamp() * 1000)


def test_records_arrive_in_the_order_of_time_and_before_today(demo: DemoShop) -> None:
    for before, after in itertools.pairwise(demo.events):
        assert before.received_at <= after.received_at
    assert all(event.at <= event.received_at for event in demo.events)
    assert demo.events[-1].received_at.date() < TODAY


def test_work_is_done_from_monday_to_friday_by_two_shifts(demo: DemoShop) -> None:
    opened = [setup.opened_at for setup in demo.setups]
    assert all(at.weekday() < 5 and 6 <= at.hour < 22 for at in opened)
    assert {at.hour < 14 for at in opened} == {True, False}
    assert (opened[-1] - opened[0]).days > 200


def test_nothing_in_the_records_fits_nowhere(demo: DemoShop) -> None:
    strange = {"fits nothing", "gap", "chain broken", "clock suspect", "out of order"}
    assert not [flag for event in demo.events for flag in event.flags if flag in strange]


def test_every_sealed_pin_was_opened_and_compared(demo: DemoShop) -> None:
    with demo.uow as uow:
        signatures = uow.signatures.of_setups(uow.events.setups())
        tries = {one.badge: one.tries for one in uow.people.credentials() if one.kind == "pin"}
    refused = [one for one in signatures if one.verdict == "refused"]
    assert {one.verdict for one in signatures} == {"confirmed", "refused"}
    assert {one.reason for one in refused} == {"Wrong PIN."}
    assert set(tries.values()) == {0}


def test_the_same_seed_and_day_give_the_same_records_but_for_sealed_pins(
    demo: DemoShop, fresh: DemoShop
) -> None:
    fresh.fill(SETUPS)
    assert [_without_seals(event) for event in fresh.raw] == [
        _without_seals(event) for event in demo.raw
    ]


def test_another_seed_gives_other_records(demo: DemoShop, fresh: DemoShop) -> None:
    fresh.fill(3, seed=21)
    assert not {event["id"] for event in fresh.raw} & {event["id"] for event in demo.raw}


def test_a_shop_with_anything_in_it_is_refused_and_left_alone(fresh: DemoShop) -> None:
    owner = Person(badge="B-77", role=Role.OWNER)
    crew.save_person(fresh.uow, fresh.means, owner, Person(badge="first", role=Role.OWNER))
    with pytest.raises(Clash, match="records in this shop already"):
        fresh.fill(3)
    with fresh.uow as uow:
        assert uow.people.all() == [owner]
        assert not uow.items.current("tool")


def test_a_filling_that_fails_leaves_the_shop_empty(fresh: DemoShop) -> None:
    class Stopped(Exception):
        pass

    def stop(done: int, _total: int, _words: str) -> None:
        if done == 2:
            raise Stopped

    with pytest.raises(Stopped):
        fresh.fill(4, progress=stop)
    with fresh.uow as uow:
        assert uow.people.all() == []
        assert uow.designs.all() == []
        assert uow.events.after(0, 10) == []


def test_progress_counts_up_to_all_setups(fresh: DemoShop) -> None:
    told: list[tuple[int, int]] = []
    fresh.fill(3, progress=lambda done, total, _words: told.append((done, total)))
    assert list(dict.fromkeys(told)) == [(0, 3), (1, 3), (2, 3), (3, 3)]
    assert told == sorted(told)


def test_people_can_sign_in_with_the_printed_passwords(demo: DemoShop) -> None:
    for one in demo_people(share("seed_data")):
        found = crew.sign_in(demo.uow, demo.means, one.person.badge, one.password)
        assert found.person == one.person


def test_the_stores_for_checking_are_those_of_the_filled_shop(demo: DemoShop) -> None:
    stores = demo_stores(share("seed_data"), TODAY)
    with demo.uow as uow:
        filled = {one.key: one.body for one in uow.items.current("tool")}
    assert {key: tool.model_dump(mode="json") for key, tool in stores.tools.items()} == filled


def _without_seals(event: dict[str, object]) -> dict[str, object]:
    """Sealing is random by design, and with it every hash that follows."""
    data = event["data"]
    assert isinstance(data, dict)
    plain = {name: value for name, value in data.items() if name not in ("sealed", "key")}
    if "covers" in plain:
        plain["covers"] = plain["covers"]["events"]
    return {**event, "data": plain, "prev": None}
