from __future__ import annotations

from api.paths import share
from api.storage import migrate
from tests.routes.office.visitor import Site, Visitor
from tests.support.script import Tablet
from tests.support.shop import SETUP, push

BROKEN = '{"id": "<b>not a uuid</b>", "kind": "note"}'


def test_the_figures_are_those_of_the_database(each_site: Site) -> None:
    with each_site.uow as uow:
        head, epoch, dialect = uow.events.head(), uow.shop.meta().epoch, uow.shop.dialect()
    with each_site.visitor("B-01") as visitor:
        page = visitor.read("/system")
    assert f"{head} records" in page.text
    assert epoch in page.text
    assert f"{dialect} " in page.text
    assert str(migrate.newest(share("migrations"))) in page.text
    assert "written and read back" in page.text


def test_what_is_in_doubt_is_counted_with_a_way_to_where_it_is_settled(
    site: Site, lead: Visitor
) -> None:
    push(site, Tablet("tab-9", setup=SETUP), [BROKEN])
    page = lead.read("/system")
    assert "Set aside 1" in page.text and "Signatures to look at none" in page.text
    assert page.links.count("/to-settle") == 2
    assert BROKEN not in page.text


def test_the_page_tells_of_backups_and_that_a_row_was_written(site: Site, lead: Visitor) -> None:
    assert "Newest there is none" in " ".join(lead.read("/system").text.split())
    assert "written and read back" in lead.read("/system").text
