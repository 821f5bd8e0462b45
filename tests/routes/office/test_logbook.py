from __future__ import annotations

import csv
import io
import json
from typing import Any

import httpx
import pytest

from api.domain.events import hash_of
from tests.routes.office.story import LAST_READING, SETUP, tell
from tests.routes.office.visitor import Site, Visitor
from tests.support.script import Tablet
from tests.support.shop import push

FILTERS = [
    ("plate", "SAD-20-001", "plate"),
    ("design", "CLR-08", "design"),
    ("tool", "T-05", "torque_tool"),
    ("judgement", "accept", "judgement"),
    ("state", "finished", "state"),
]


def lines_of(answer: httpx.Response) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(answer.text)))


def shown_setups(visitor: Visitor, path: str) -> list[str]:
    links = visitor.read(path).links
    return [link.removeprefix("/setups/") for link in links if link.startswith("/setups/")]


def test_page_csv_and_json_of_the_logbook_say_the_same(each_site: Site) -> None:
    with each_site.visitor("B-01") as visitor:
        page = visitor.read("/logbook")
        shown = shown_setups(visitor, "/logbook")
        table = lines_of(visitor.get("/logbook.csv"))
        document = visitor.get("/logbook.json").json()
    assert shown
    assert [row["setup"] for row in table] == shown
    assert [row["setup"] for row in document["setups"]] == shown
    assert document["total"] == len(shown)
    for cells, row, one in zip(page.rows[1:], table, document["setups"], strict=True):
        assert cells[1] == row["plate"] == one["plate"]
        assert cells[3] == row["state"] == one["state"]
        assert cells[6] == row["torque_tool"] == one["torque_tool"]
        assert cells[7] == row["movers"] == str(one["movers"])


@pytest.mark.parametrize(("name", "value", "column"), FILTERS)
def test_a_filter_keeps_exactly_the_setups_that_fit(
    operator: Visitor, name: str, value: str, column: str
) -> None:
    every = lines_of(operator.get("/logbook.csv"))
    wanted = [row["setup"] for row in every if row[column] == value]
    assert shown_setups(operator, f"/logbook?{name}={value}") == wanted
    assert [
        row["setup"] for row in lines_of(operator.get(f"/logbook.csv?{name}={value}"))
    ] == wanted


def test_the_person_filter_finds_the_setups_a_person_worked_on(
    site: Site, operator: Visitor
) -> None:
    told = tell(site)
    for badge in ("B-01", "B-02"):
        assert told.id in shown_setups(operator, f"/logbook?person={badge}")
    assert told.id not in shown_setups(operator, "/logbook?person=B-05")


def test_the_days_of_a_filter_belong_to_it(operator: Visitor) -> None:
    every = lines_of(operator.get("/logbook.csv"))
    day = every[1]["opened_at_utc"][:10]
    asked = f"since={day}&until={day}"
    wanted = [row["setup"] for row in every if row["opened_at_utc"].startswith(day)]
    assert shown_setups(operator, f"/logbook?{asked}") == wanted


def test_a_filter_that_cannot_be_read_shows_no_setups_and_keeps_what_was_typed(
    operator: Visitor,
) -> None:
    answer = operator.get("/logbook?plate=SAD-20-001&judgement=perhaps")
    assert answer.status_code == httpx.codes.BAD_REQUEST
    assert "/setups/" not in answer.text
    assert '<option value="SAD-20-001" selected>' in answer.text


def test_a_record_shows_every_event_in_order_with_its_hash(each_site: Site) -> None:
    told = tell(each_site)
    with each_site.visitor("B-03") as visitor:
        document = visitor.get(f"/setups/{told.id}.json").json()
        table = lines_of(visitor.get(f"/setups/{told.id}.csv"))
        page = visitor.read(f"/setups/{told.id}")
    assert [one["event"] for one in document["records"]] == [event.id for event in told.events]
    assert [one["hash"] for one in document["records"]] == [row["hash"] for row in table]
    for one in document["records"]:
        assert f'title="{one["hash"]}"' in page.html
        assert one["what"] in page.text
    stored = each_site.uow
    with stored:
        kept = stored.events.of_setup(told.id)
    assert [hash_of(event.text) for event in kept] == [row["hash"] for row in table]


def test_first_value_second_entry_and_correction_are_all_readable(
    site: Site, lead: Visitor
) -> None:
    told = tell(site)
    page = lead.read(f"/setups/{told.id}")
    row = next(row for row in page.rows if row and row[0] == "A , torqued locked")
    assert row[2:6] == ["0.080 mm", "0.075 mm", "0.045 mm", "0.045 mm"]
    assert "reason: one turn of the dial missed" in page.text
    assert "reason: read again, pad was clean" in page.text
    seqs = {one["event"]: one["seq"] for one in record(lead, told.id)["records"]}
    assert f"corrected by record {seqs[told.correction.id]}" in page.text
    assert f"refers to record {seqs[told.second_entry.id]}" in page.text


def test_interruptions_take_overs_signatures_and_later_additions_are_told(
    site: Site, lead: Visitor
) -> None:
    told = tell(site)
    page = lead.read(f"/setups/{told.id}")
    assert "Interrupted: the operator left" in page.text
    assert "Taken over from B-01" in page.text
    signature = record(lead, told.id)["signatures"][0]
    assert signature["verdict"] == "refused"
    assert signature["covers"] == len(told.events) - 2
    assert signature["reason"] in page.text
    assert "Added after the signature: note" in page.text
    assert "chip under pad 2" in page.text


def test_a_refused_signature_is_listed_among_what_is_to_settle(site: Site, lead: Visitor) -> None:
    assert "was refused:" not in lead.read("/to-settle?kind=refused").text
    tell(site)
    assert lead.read("/to-settle?kind=refused").text.count("was refused:") == 1


def test_a_setup_whose_opening_is_missing_is_shown_with_what_is_here(
    site: Site, lead: Visitor
) -> None:
    tablet = Tablet("tab-9", setup=SETUP)
    tablet.open()
    tablet.write("step done", "clean/top")
    push(site, tablet, tablet.texts[1:])
    page = lead.read(f"/setups/{SETUP}")
    assert "The record that opens this setup has not arrived yet" in page.text
    assert "Done: clean, top" in page.text
    assert lead.get(f"/setups/{SETUP}.csv").status_code == httpx.codes.OK
    gaps = next(row for row in lead.read("/crew").rows if row and row[0].startswith("tab-9"))
    assert "all to 0, then gaps up to 2" in gaps[3]


def test_readings_over_time_are_the_same_as_chart_table_csv_and_json(each_site: Site) -> None:
    told = tell(each_site)
    query = "?plate=SAD-20-003&point=A&state=torqued+locked"
    with each_site.visitor("B-01") as visitor:
        page = visitor.read(f"/readings{query}")
        table = lines_of(visitor.get(f"/readings.csv{query}"))
        document = visitor.get(f"/readings.json{query}").json()
    assert told.id in {row["setup"] for row in table}
    assert len(page.rows) - 1 == len(table) == len(document["readings"])
    assert page.html.count('class="hit"') == len(table)
    assert [row["event"] for row in table] == [one["event"] for one in document["readings"]]
    for cells, one in zip(page.rows[1:], document["readings"], strict=True):
        assert cells[3] == f"{one['entered']} {one['entered_unit']}"
        assert (cells[4] == "within") == one["within"]


def test_a_corrected_reading_counts_in_the_series_with_its_unit(site: Site, lead: Visitor) -> None:
    told = tell(site)
    rows = lines_of(lead.get("/readings.csv?plate=SAD-20-003&point=A&state=torqued+locked"))
    mine = [row for row in rows if row["setup"] == told.id]
    assert [(row["reading_mm"], row["entered"], row["entered_unit"]) for row in mine] == [
        ("0.045", "0.045", "mm")
    ]
    assert mine[0]["low_limit_mm"] == "-0.05"
    assert LAST_READING.split("/")[1] == mine[0]["point"]


def test_words_that_a_spreadsheet_would_run_are_disarmed(site: Site, lead: Visitor) -> None:
    told = tell(site)
    text = "=HYPERLINK(evil)"

    tablet = Tablet("tab-8", setup=told.id)
    tablet.write("note", None, text=text)
    push(site, tablet)
    row = lines_of(lead.get(f"/setups/{told.id}.csv"))[-1]
    assert row["details"] == f"'{text}"


def test_text_of_a_record_is_shown_as_text(site: Site, lead: Visitor) -> None:
    told = tell(site)
    tablet = Tablet("tab-8", setup=told.id)
    tablet.write("note", None, text="<script>alert(1)</script>")
    push(site, tablet)
    html = lead.get(f"/setups/{told.id}").text
    assert "<script>alert" not in html
    assert "&lt;script&gt;alert(1)&lt;/script&gt;" in html


def record(visitor: Visitor, setup: str) -> dict[str, Any]:
    found: dict[str, Any] = json.loads(visitor.get(f"/setups/{setup}.json").text)
    return found
