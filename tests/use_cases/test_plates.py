"""Plates: the state their setups and holds leave them in, and what is due."""

from __future__ import annotations

import pytest

from api.domain.errors import BadInput, Clash, NotAllowed, NotFound
from api.use_cases import plates
from tests.support.script import NOTHING_DUE, Tablet
from tests.support.shop import ENGINEER, LEAD, OPERATOR, STEPS, Shop

SERIAL = "SAD-20-001"


def state(shop: Shop) -> str:
    return plates.get_plate(shop.reader, SERIAL).state


def send(shop: Shop, tablet: Tablet) -> None:
    shop.push(tablet)


def test_a_plate_goes_from_free_through_its_setup_and_back(shop: Shop) -> None:
    assert state(shop) == "free"
    tablet = shop.tablet()
    events = [tablet.open(), *tablet.work(STEPS, "sign")]
    send(shop, tablet)
    info = plates.get_plate(shop.reader, SERIAL)
    assert info.state == "being loaded"
    assert info.open_setup is not None
    assert (info.open_setup.badge, info.open_setup.step) == ("B-01", "sign")
    shop.sign(tablet, events, "4101")
    send(shop, tablet)
    assert state(shop) == "ready"
    tablet.write("step done", "machine")
    send(shop, tablet)
    assert state(shop) == "in machine"
    tablet.write("step done", "unload", good=1, scrap=0)
    send(shop, tablet)
    assert state(shop) == "free"


def test_an_abandoned_setup_frees_the_plate(shop: Shop) -> None:
    tablet = shop.tablet()
    tablet.open()
    tablet.write("abandoned", None, reason="wrong plate")
    send(shop, tablet)
    assert state(shop) == "free"


def test_a_rejected_setup_holds_the_plate_until_a_lead_frees_it(shop: Shop) -> None:
    tablet = shop.tablet(person="B-03")
    tablet.open()
    list(tablet.work(STEPS, "sign"))
    tablet.write("judged", "judge", judgement="reject", reason="receiver damaged")
    send(shop, tablet)
    info = plates.get_plate(shop.reader, SERIAL)
    assert (info.state, info.reason) == ("held", "the last setup was rejected")
    with pytest.raises(NotAllowed):
        plates.free_plate(shop.uow, shop.means, SERIAL, OPERATOR)
    plates.free_plate(shop.uow, shop.means, SERIAL, LEAD)
    assert state(shop) == "free"


def test_a_lead_holds_a_plate_with_a_reason_and_frees_it(shop: Shop) -> None:
    plates.hold_plate(shop.uow, shop.means, SERIAL, "stud 2 worn", LEAD)
    info = plates.get_plate(shop.reader, SERIAL)
    assert (info.state, info.reason, info.since) == ("held", "stud 2 worn", shop.clock.now())
    with pytest.raises(Clash, match="held already"):
        plates.hold_plate(shop.uow, shop.means, SERIAL, "again", LEAD)
    plates.free_plate(shop.uow, shop.means, SERIAL, LEAD)
    assert state(shop) == "free"
    holds = plates.plate_holds(shop.reader, SERIAL)
    assert [(one.reason, one.by, one.freed_by) for one in holds] == [
        ("stud 2 worn", "B-03", "B-03")
    ]
    with pytest.raises(Clash, match="not held"):
        plates.free_plate(shop.uow, shop.means, SERIAL, LEAD)


def test_only_a_lead_or_owner_holds_a_plate_and_says_why(shop: Shop) -> None:
    with pytest.raises(NotAllowed):
        plates.hold_plate(shop.uow, shop.means, SERIAL, "because", ENGINEER)
    with pytest.raises(BadInput):
        plates.hold_plate(shop.uow, shop.means, SERIAL, "  x ", LEAD)
    with pytest.raises(NotFound):
        plates.hold_plate(shop.uow, shop.means, "NONE", "because", LEAD)


def test_a_new_plate_needs_a_known_design_and_a_serial_of_its_own(shop: Shop) -> None:
    plates.add_plate(shop.uow, "SAD-20-002", "SAD-20", ENGINEER, "spare")
    assert [one.serial for one in plates.list_plates(shop.reader)] == [SERIAL, "SAD-20-002"]
    with pytest.raises(Clash):
        plates.add_plate(shop.uow, "SAD-20-002", "SAD-20", ENGINEER)
    with pytest.raises(NotFound):
        plates.add_plate(shop.uow, "X-1", "NONE", ENGINEER)
    with pytest.raises(BadInput):
        plates.add_plate(shop.uow, "x/1", "SAD-20", ENGINEER)
    with pytest.raises(NotAllowed):
        plates.add_plate(shop.uow, "X-1", "SAD-20", OPERATOR)


def test_setups_since_grease_and_baseline_are_counted(shop: Shop) -> None:
    facts = NOTHING_DUE | {"grease_due": True, "baseline_due": True}
    for number, some in enumerate([NOTHING_DUE, facts, NOTHING_DUE, NOTHING_DUE]):
        shop.clock.forward(3600)
        tablet = Tablet(f"tab-{number}", setup=f"01920000-0000-7000-8000-{number:012d}")
        tablet.open(some)
        list(tablet.work(STEPS, "sign", some))
        send_later(shop, tablet, number)
    info = plates.get_plate(shop.reader, SERIAL)
    assert (info.setups_since_grease, info.setups_since_baseline) == (2, 2)


def send_later(shop: Shop, tablet: Tablet, hours: int) -> None:
    """The tablet's records, as if made so many hours later."""
    texts = [
        text.replace('"2026-11-24T08:', f'"2026-11-24T{8 + hours:02d}:') for text in tablet.texts
    ]
    shop.push(tablet, texts)


def test_usual_is_the_median_of_the_final_readings(shop: Shop) -> None:
    for number, value in enumerate(["0.01", "0.04", "0.02"]):
        tablet = Tablet(f"tab-{number}", setup=f"01920000-0000-7000-8000-{number:012d}")
        tablet.open()
        for step in STEPS:
            if step["when"] is None and step["kind"] not in ("judge", "sign", "machine", "unload"):
                tablet.do(step, value)
        send_later(shop, tablet, number)
    usual = plates.get_plate(shop.reader, SERIAL).usual["A/torqued locked"]
    assert (usual.median_mm, usual.n) == (0.02, 3)


def test_open_troubles_are_shown_until_their_step_is_done(shop: Shop) -> None:
    tablet = shop.tablet()
    tablet.open()
    list(tablet.work(STEPS, "free/C2"))
    trouble = tablet.write("trouble", "free/C2", what="would not turn", clamp="C2")
    send(shop, tablet)
    found = plates.get_plate(shop.reader, SERIAL).open_troubles
    assert [(one.event, one.what, one.clamp) for one in found] == [
        (trouble.id, "would not turn", "C2")
    ]
    tablet.write("step done", "free/C2")
    send(shop, tablet)
    assert plates.get_plate(shop.reader, SERIAL).open_troubles == []
