"""What a lead adds to a setup from the desk."""

from __future__ import annotations

import re

from tests.routes.office.story import LAST_READING, tell
from tests.routes.office.test_inbox import REASON, SETUP, two_answers
from tests.routes.office.visitor import Site, Visitor


def test_a_reading_is_corrected_from_the_desk(site: Site, lead: Visitor) -> None:
    told = tell(site)
    page = f"/setups/{told.id}/add"
    fields = {"deed": "correct", "reading": told.correction.id, "unit": "mm", "why": REASON}
    wrong = lead.send(page, page, value="much", **fields)
    assert wrong.status_code == 422 and "Enter a number" in wrong.text
    assert f'value="{told.correction.id}" selected' in wrong.text
    done = lead.send(page, page, value="0.041", **fields)
    assert (done.status_code, done.headers["location"]) == (303, f"/setups/{told.id}")
    record = lead.read(f"/setups/{told.id}")
    assert "0.041 mm" in record.text and "0.045 mm" in record.text and REASON in record.text


def test_a_setup_that_nobody_finishes_is_abandoned_from_the_desk(site: Site, lead: Visitor) -> None:
    two_answers(site)
    page = f"/setups/{SETUP}/add"
    short = lead.send(page, page, deed="abandon", why_end="x")
    assert short.status_code == 422 and "Reason to abandon it" in short.text
    assert lead.send(page, page, deed="abandon", why_end="wrong parts").status_code == 303
    assert "abandoned" in lead.read(f"/setups/{SETUP}").text
    assert "Abandon the setup" not in lead.read(page).text
    assert lead.send(page, page, deed="abandon", why_end="wrong parts").status_code == 409


def test_a_step_is_opened_again_from_the_desk(site: Site, lead: Visitor) -> None:
    tell(site)
    setup = "01920000-0000-7000-8000-000000000def"
    page = f"/setups/{setup}/add"
    choice = re.search(r'<option value="([^"]+)">reading, A', lead.get(page).text)
    assert choice is not None and LAST_READING
    done = lead.send(page, page, deed="open", step=choice[1], why_open="needle was touched")
    assert done.status_code == 303
    assert "needle was touched" in lead.read(f"/setups/{setup}").text


def test_a_deed_nobody_knows_is_refused(site: Site, lead: Visitor) -> None:
    two_answers(site)
    page = f"/setups/{SETUP}/add"
    assert lead.send(page, page, deed="burn").status_code == 422
