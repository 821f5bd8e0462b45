"""The logbook: searching, paging, one record, and a point over time."""

from __future__ import annotations

import datetime as dt
import time

import pytest

from api.domain.errors import BadInput, NotFound
from api.domain.records import SetupFilter
from api.use_cases import setups, system
from api.use_cases import shop as shop_use_case
from tests.support.script import Tablet
from tests.support.shop import OPERATOR, STEPS, Shop


def setup_id(number: int) -> str:
    return f"01920000-0000-7000-8000-{number:012d}"


@pytest.fixture
def three(shop: Shop) -> Shop:
    """Three setups on three days by two people; the last is rejected."""
    for number, person in enumerate(["B-01", "B-02", "B-01"]):
        tablet = Tablet(f"tab-{number}", setup=setup_id(number), person=person)
        tablet.open()
        list(tablet.work(STEPS, "sign"))
        if number == 2:
            tablet.person = "B-03"
            tablet.write("judged", "judge", judgement="reject", reason="bent plate")
        texts = [text.replace("2026-11-24T", f"2026-11-{20 + number}T") for text in tablet.texts]
        shop.push(tablet, texts)
    return shop


SEARCHES: list[tuple[SetupFilter, list[int]]] = [
    (SetupFilter(), [2, 1, 0]),
    (SetupFilter(person="B-02"), [1]),
    (SetupFilter(person="B-03"), [2]),
    (SetupFilter(judgement="reject"), [2]),
    (SetupFilter(phase="working"), [1, 0]),
    (SetupFilter(plate="SAD-20-001", design="SAD-20", tool="T-03"), [2, 1, 0]),
    (SetupFilter(tool="T-99"), []),
    (SetupFilter(plate="'; DROP TABLE setup; --"), []),
    (SetupFilter(since=dt.date(2026, 11, 21)), [2, 1]),
    (SetupFilter(until=dt.date(2026, 11, 21)), [1, 0]),
    (SetupFilter(since=dt.date(2026, 11, 21), until=dt.date(2026, 11, 21)), [1]),
    (SetupFilter(since=dt.date.min, until=dt.date.max), [2, 1, 0]),
]


def test_a_search_finds_what_fits_newest_first(three: Shop) -> None:
    for wanted, found in SEARCHES:
        page = setups.find_setups(three.reader, wanted)
        assert [one.id for one in page.items] == [setup_id(number) for number in found], wanted
        assert page.total == len(found)


def test_a_day_is_a_day_of_the_shop_and_not_of_greenwich(
    three: Shop, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The setups are opened at 08:00 UTC, which is the evening before in the far west."""
    monkeypatch.setenv("TZ", "WST+12")
    time.tzset()
    try:
        page = setups.find_setups(three.reader, SetupFilter(until=dt.date(2026, 11, 20)))
        assert [one.id for one in page.items] == [setup_id(1), setup_id(0)]
    finally:
        monkeypatch.undo()
        time.tzset()


def test_pages_divide_the_list_without_overlap(three: Shop) -> None:
    pages = [setups.find_setups(three.reader, SetupFilter(), page, 2) for page in (1, 2, 3)]
    assert [[one.id for one in page.items] for page in pages] == [
        [setup_id(2), setup_id(1)],
        [setup_id(0)],
        [],
    ]
    assert {(page.pages, page.total) for page in pages} == {(2, 3)}


def test_an_impossible_page_is_refused(shop: Shop) -> None:
    for page, per_page in ((0, 10), (-1, 10), (10**9, 10), (1, 0), (1, 10**6)):
        with pytest.raises(BadInput):
            setups.find_setups(shop.reader, SetupFilter(), page, per_page)


def test_days_the_wrong_way_round_are_refused(shop: Shop) -> None:
    wanted = SetupFilter(since=dt.date(2026, 11, 2), until=dt.date(2026, 11, 1))
    with pytest.raises(BadInput, match="after the last"):
        setups.find_setups(shop.reader, wanted)


@pytest.mark.parametrize("wanted", ["a\0b", "\ud800", "x" * 1_000_000])
def test_a_search_for_what_cannot_be_stored_is_refused_or_finds_nothing(
    shop: Shop, wanted: str
) -> None:
    try:
        assert setups.find_setups(shop.reader, SetupFilter(plate=wanted)).items == []
    except BadInput as problem:
        assert "nothing was changed" in problem.message


def test_a_record_holds_every_event_and_the_folded_state(three: Shop) -> None:
    record = setups.get_setup(three.reader, setup_id(2))
    assert record.events[0].event.kind == "setup opened"
    assert record.events[-1].event.kind == "judged"
    assert record.summary is not None
    assert (record.summary.phase, record.summary.judgement) == ("rejected", "reject")
    assert record.state_json["phase"] == "rejected"
    assert record.sheet is not None
    assert record.sheet["steps"] == STEPS


def test_a_setup_whose_opening_has_not_arrived_is_still_a_record(shop: Shop) -> None:
    tablet = shop.tablet()
    tablet.open()
    tablet.write("note", None, text="first word")
    shop.push(tablet, tablet.texts[1:])
    record = setups.get_setup(shop.reader, tablet.setup)
    assert record.summary is None
    assert len(record.events) == 1


def test_a_points_readings_over_time_are_the_final_ones_oldest_first(three: Shop) -> None:
    series = setups.point_series(three.reader, "SAD-20-001", "A", "torqued locked")
    assert [(one.setup, one.value, one.unit) for one in series] == [
        (setup_id(number), "0.03", "mm") for number in range(3)
    ]
    assert setups.point_series(three.reader, "SAD-20-001", "Z") == []


def test_what_is_not_there_is_not_found(shop: Shop) -> None:
    with pytest.raises(NotFound):
        setups.get_setup(shop.reader, setup_id(9))
    with pytest.raises(NotFound):
        setups.plate_history(shop.reader, "NONE")
    with pytest.raises(NotFound):
        setups.point_series(shop.reader, "NONE")


def test_the_shops_version_changes_with_stages_and_not_with_every_clamp(shop: Shop) -> None:
    tablet = shop.tablet()
    tablet.open()
    list(tablet.work(STEPS, "torque/2/C1"))
    shop.push(tablet)
    before = shop_use_case.shop_version(shop.reader, shop.means)
    tablet.tighten("torque/2/C1")
    shop.push(tablet, tablet.texts[-1:])
    assert shop_use_case.shop_version(shop.reader, shop.means) == before
    tablet.write("abandoned", None, reason="end of shift")
    shop.push(tablet, tablet.texts[-1:])
    assert shop_use_case.shop_version(shop.reader, shop.means) != before


def test_what_was_set_aside_and_which_tablets_there_are_can_be_read(shop: Shop) -> None:
    shop.push(shop.tablet(), ["rubbish"])
    with shop.reader as uow:
        found = uow.events.set_asides(1, 25)
    assert [(one.text, one.tablet) for one in found.items] == [("rubbish", "tab-1")]
    assert [(one.id, one.build) for one in system.list_tablets(shop.reader, OPERATOR)] == [
        ("tab-1", "test")
    ]


def test_the_shop_has_a_name(shop: Shop) -> None:
    system.name_shop(shop.uow, "Demonstration shop")
    assert shop_use_case.shop_data(shop.reader, shop.means).shop == "Demonstration shop"
