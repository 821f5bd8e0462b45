"""What a lead adds at the desk: records of the office's own chain."""

from __future__ import annotations

import pytest

from api.domain.errors import BadInput, Clash, NotAllowed
from api.security.office_key import OfficeKey
from api.use_cases import office_records, setups, tablets
from tests.support.shop import (
    LEAD,
    OPERATOR,
    SETUP,
    STEPS,
    Shop,
)
from tests.use_cases.inbox_cases import (
    HOUR,
    READ,
    items,
    only,
    signed,
)


def test_a_note_of_the_desk_is_a_record_of_the_offices_own_chain(
    shop: Shop, pen: OfficeKey
) -> None:
    tablet = shop.tablet()
    tablet.open()
    shop.push(tablet)
    for text in ("pads changed", "and the wrench"):
        office_records.add_note(shop.uow, shop.means, pen, SETUP, text, LEAD)
    events = setups.get_setup(shop.reader, SETUP).events
    first, second = events[-2:]
    assert [one.event.data["text"] for one in (first, second)] == ["pads changed", "and the wrench"]
    assert (first.event.n, second.event.n) == (1, 2)
    assert second.event.prev == first.stored.hash
    assert all(one.stored.flags == () for one in (first, second))
    assert shop.means.tablet_keys.signed(
        pen.public, f"clampbook-event/1 {second.stored.hash}", second.stored.sig or ""
    )
    with shop.reader as uow:
        office = uow.tablets.get(pen.tablet)
        enrolled = uow.journal.last("tablet enrolled", pen.tablet)
    assert office is not None and (office.name, office.contiguous) == ("Office", 2)
    assert enrolled is not None and enrolled.by == "B-03"


def test_the_office_is_no_silent_tablet(shop: Shop, pen: OfficeKey) -> None:
    tablet = shop.tablet()
    tablet.open()
    shop.push(tablet)
    office_records.add_note(shop.uow, shop.means, pen, SETUP, "pads changed", LEAD)
    shop.clock.forward(30 * 24 * HOUR)
    assert all(one.where.tablet != pen.tablet for one in items(shop))


def test_a_reading_corrected_at_the_desk_counts_and_the_first_value_stays(
    shop: Shop, pen: OfficeKey
) -> None:
    tablet = shop.tablet()
    tablet.open()
    list(tablet.work(STEPS, READ))
    read = tablet.reading(READ, "0.031")
    shop.push(tablet)
    office_records.correct_reading(
        shop.uow, shop.means, pen, SETUP, read.id, "0,013", "mm", "digits swapped", LEAD
    )
    reading = setups.get_setup(shop.reader, SETUP).state.readings[READ]
    assert reading.final is not None and reading.final.value == "0.013"
    assert [one.value for one in reading.entries] == ["0.031", "0.013"]


def test_a_correction_after_the_signature_asks_for_a_new_one(shop: Shop, pen: OfficeKey) -> None:
    tablet = shop.tablet()
    signed(shop, tablet)
    reading = setups.get_setup(shop.reader, SETUP).state.readings[READ]
    assert reading.final is not None
    office_records.correct_reading(
        shop.uow, shop.means, pen, SETUP, reading.final.event, "0.02", "mm", "digits swapped", LEAD
    )
    last = setups.get_setup(shop.reader, SETUP).events[-1].event
    assert (last.kind, last.data["adds"]) == ("after-signature addition", "correction")
    assert only(shop, "late").where.person == "B-03"


@pytest.mark.parametrize(
    ("value", "unit", "field"),
    [("much", "mm", "value"), ("0.01", "furlong", "unit"), ("0.03", "mm", "value")],
)
def test_a_correction_that_says_nothing_new_is_refused_by_its_field(
    shop: Shop, pen: OfficeKey, value: str, unit: str, field: str
) -> None:
    tablet = shop.tablet()
    signed(shop, tablet)
    reading = setups.get_setup(shop.reader, SETUP).state.readings[READ]
    assert reading.final is not None
    with pytest.raises(BadInput) as refused:
        office_records.correct_reading(
            shop.uow, shop.means, pen, SETUP, reading.final.event, value, unit, "because", LEAD
        )
    assert refused.value.where["field"] == field
    with shop.reader as uow:
        assert uow.tablets.get(pen.tablet) is None


def test_a_step_ticked_by_mistake_is_opened_again(shop: Shop, pen: OfficeKey) -> None:
    tablet = shop.tablet()
    tablet.open()
    done = tablet.do(STEPS[0])
    shop.push(tablet)
    office_records.open_step(shop.uow, shop.means, pen, SETUP, done.id, "not cleaned", LEAD)
    assert setups.get_setup(shop.reader, SETUP).state.steps[STEPS[0]["id"]].undone
    with pytest.raises(BadInput, match="Choose a step"):
        office_records.open_step(shop.uow, shop.means, pen, SETUP, done.id, "again", LEAD)


def test_a_setup_is_abandoned_once_and_only_by_a_lead(shop: Shop, pen: OfficeKey) -> None:
    tablet = shop.tablet()
    tablet.open()
    shop.push(tablet)
    with pytest.raises(NotAllowed):
        office_records.abandon(shop.uow, shop.means, pen, SETUP, "nobody goes on", OPERATOR)
    office_records.abandon(shop.uow, shop.means, pen, SETUP, "nobody goes on", LEAD)
    summary = setups.get_setup(shop.reader, SETUP).summary
    assert summary is not None and summary.phase == "abandoned"
    with pytest.raises(Clash, match="abandoned already"):
        office_records.abandon(shop.uow, shop.means, pen, SETUP, "nobody goes on", LEAD)


def test_a_revoked_office_key_writes_nothing(shop: Shop, pen: OfficeKey) -> None:
    tablet = shop.tablet()
    tablet.open()
    shop.push(tablet)
    office_records.add_note(shop.uow, shop.means, pen, SETUP, "pads changed", LEAD)
    tablets.revoke(shop.uow, shop.means, pen.tablet, "keys were copied", LEAD)
    with pytest.raises(Clash, match=r"office\.pem"):
        office_records.add_note(shop.uow, shop.means, pen, SETUP, "one more", LEAD)
