"""Tablets on the crew's screens: a code with its picture, names, revocation, a new key for PINs."""

from __future__ import annotations

import re

import httpx
import pytest

from api.use_cases import tablets
from tests.routes.office.visitor import Site, Visitor, count_rows
from tests.support.pusher import Pusher
from tests.support.script import Tablet
from tests.support.shop import SETUP, enrol

CODE = re.compile(r'data-code="([0-9A-Z]{5}-[0-9A-Z]{5})"')


def test_the_code_on_the_page_lets_a_tablet_in(each_site: Site) -> None:
    with each_site.visitor("B-03") as lead:
        answer = lead.send("/add-tablet", name="  Bench   7 ")
    found = CODE.search(answer.text)
    assert found
    plain = found.group(1).replace("-", "")
    assert f"{each_site.url}/bench#enrol={plain}" in answer.text
    assert "<svg" in answer.text
    assert "Holds for" in answer.text
    assert answer.headers["cache-control"] == "no-store"
    with httpx.Client(base_url=each_site.url) as client:
        pusher = Pusher(Tablet("tab-7", setup=SETUP), client).admit(found.group(1))
        assert pusher.pull().status_code == httpx.codes.OK
    with each_site.visitor("B-03") as lead:
        row = next(row for row in lead.read("/crew").rows if row and row[0].startswith("Bench 7"))
    assert row[1] == "in use"


def test_a_name_is_needed(site: Site, lead: Visitor) -> None:
    before = count_rows(site, "enrol_code")
    for name in ("", " ", "x" * 41):
        answer = lead.send("/add-tablet", name=name)
        assert answer.status_code == httpx.codes.UNPROCESSABLE_ENTITY
        assert "1 to 40 characters" in answer.text
    assert count_rows(site, "enrol_code") == before


def test_a_tablet_is_renamed_and_revoked_with_a_reason(site: Site, lead: Visitor) -> None:
    enrol(site, Tablet("tab-7", setup=SETUP))
    assert lead.send("/tablets/tab-7/name", name="Press").headers["location"] == "/crew#tablets"
    assert "Press" in lead.read("/tablets/tab-7").text
    refused = lead.send("/tablets/tab-7/revoke", reason="")
    assert refused.status_code == httpx.codes.UNPROCESSABLE_ENTITY
    assert "Give the reason" in refused.text
    lead.send("/tablets/tab-7/revoke", reason="left on the bus")
    page = lead.read("/tablets/tab-7")
    assert "left on the bus" in page.text
    assert "Revoke this tablet" not in page.text
    row = next(row for row in lead.read("/crew").rows if row and row[0].startswith("Press"))
    assert row[1].startswith("revoked")
    assert lead.send("/tablets/tab-7/revoke", reason="again").status_code == httpx.codes.CONFLICT
    assert lead.get("/tablets/nothing").status_code == httpx.codes.NOT_FOUND


@pytest.mark.parametrize("badge", ["B-01", "B-04"])
def test_only_a_lead_or_owner_sees_and_does_these_things(site: Site, badge: str) -> None:
    enrol(site, Tablet("tab-7", setup=SETUP))
    with site.visitor(badge) as visitor:
        page = visitor.read("/crew")
        assert "/add-tablet" not in page.links
        assert "/tablets/tab-7" not in page.links
        for path in ("/add-tablet", "/tablets/tab-7", "/new-key"):
            assert visitor.get(path).status_code == httpx.codes.FORBIDDEN
        for path in ("/add-tablet", "/tablets/tab-7/name", "/tablets/tab-7/revoke", "/new-key"):
            answer = visitor.send(path, name="Mine", reason="for fun", yours="bench-b01")
            assert answer.status_code == httpx.codes.FORBIDDEN
    with site.uow as uow:
        found = uow.tablets.get("tab-7")
        assert found is not None
        assert tablets.state_of(found) == "in use"


def test_an_owner_makes_a_new_key_with_the_own_password(site: Site, lead: Visitor) -> None:
    assert "/new-key" not in lead.read("/crew").links
    assert lead.send("/new-key", yours="bench-b03").status_code == httpx.codes.FORBIDDEN
    with site.uow as uow:
        assert uow.journal.last("sealing key") is None
    with site.visitor("B-05") as owner:
        assert "/new-key" in owner.read("/crew").links
        wrong = owner.send("/new-key", yours="guess")
        assert wrong.status_code == httpx.codes.UNPROCESSABLE_ENTITY
        assert owner.send("/new-key", yours="bench-b05").status_code == httpx.codes.SEE_OTHER
        with site.uow as uow:
            entry = uow.journal.last("sealing key")
        assert entry is not None
        assert entry.subject in owner.read("/crew").text
