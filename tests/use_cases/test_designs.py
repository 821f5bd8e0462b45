"""Designs: from a file over a draft to a release that never changes."""

from __future__ import annotations

import pytest

from api.domain.errors import Clash, NotAllowed, NotFound
from api.paths import share
from api.use_cases import analyses, designs, stores
from api.use_cases import shop as shop_use_case
from tests.support.shop import ENGINEER, LEAD, OPERATOR, OWNER, Shop, stock

FOLDER = share("seed_data")
FILE = (FOLDER / "designs/CLR-08-A.toml").read_text()


@pytest.fixture
def stocked(shop: Shop) -> Shop:
    """The shop with the demonstration's stores, so that a design finds what it names."""
    stock(shop)
    return shop


def load_and_compute(shop: Shop, text: str = FILE) -> None:
    designs.load_design(shop.uow, shop.means, text, ENGINEER)
    job = analyses.take_next(shop.uow, shop.means)
    assert job is not None
    analyses.carry_out(shop.uow, shop.means, job)


def test_a_file_becomes_a_draft_that_the_bench_does_not_see(stocked: Shop) -> None:
    loaded = designs.load_design(stocked.uow, stocked.means, FILE, ENGINEER)
    assert loaded.revision is not None
    assert (loaded.revision.state, loaded.revision.loaded_by) == ("draft", "B-04")
    assert loaded.revision.source == FILE
    sheets = shop_use_case.shop_data(stocked.reader, stocked.means).sheets
    assert [one["design"] for one in sheets] == ["SAD-20"]


def test_a_release_freezes_the_sheet_and_gives_it_to_the_tablets(stocked: Shop) -> None:
    load_and_compute(stocked)
    released = designs.release_revision(stocked.uow, stocked.means, "CLR-08", "A", ENGINEER)
    assert released.sheet is not None
    assert released.sheet["hash"] == released.hash
    assert released.sheet["steps"]
    sheets = shop_use_case.shop_data(stocked.reader, stocked.means).sheets
    assert released.sheet in sheets
    info = designs.get_design(stocked.reader, "CLR-08")
    assert (info.newest, info.revisions[0].released_by) == ("A", "B-04")


def test_a_sheet_stays_as_released_when_the_stores_change(stocked: Shop) -> None:
    load_and_compute(stocked)
    released = designs.release_revision(stocked.uow, stocked.means, "CLR-08", "A", ENGINEER)
    material = stores.list_items(stocked.reader, "material")[0].version
    heavier = material.body | {"density_kg_m3": material.body["density_kg_m3"] * 2}
    stores.save_item(stocked.uow, stocked.means, "material", heavier, LEAD)
    assert designs.get_revision(stocked.reader, "CLR-08", "A").sheet == released.sheet


def test_a_draft_is_replaced_and_a_released_revision_never_changes(stocked: Shop) -> None:
    other = FILE.replace("title", "# a remark\ntitle", 1)
    changed = FILE.replace('title = "', 'title = "New ', 1).replace(
        'title    = "', 'title = "New ', 1
    )
    assert changed != FILE
    designs.load_design(stocked.uow, stocked.means, changed, ENGINEER)
    load_and_compute(stocked)
    released = designs.release_revision(stocked.uow, stocked.means, "CLR-08", "A", ENGINEER)
    same = designs.load_design(stocked.uow, stocked.means, other, ENGINEER)
    assert same.revision == released
    with pytest.raises(Clash, match="never changes"):
        designs.load_design(stocked.uow, stocked.means, changed, ENGINEER)
    with pytest.raises(Clash, match="released already"):
        designs.release_revision(stocked.uow, stocked.means, "CLR-08", "A", ENGINEER)
    assert designs.get_revision(stocked.reader, "CLR-08", "A") == released


def test_a_withdrawn_revision_leaves_the_bench_and_stays_readable(stocked: Shop) -> None:
    load_and_compute(stocked)
    designs.release_revision(stocked.uow, stocked.means, "CLR-08", "A", ENGINEER)
    withdrawn = designs.withdraw_revision(stocked.uow, stocked.means, "CLR-08", "A", OWNER)
    assert (withdrawn.state, withdrawn.withdrawn_by) == ("withdrawn", "B-05")
    assert designs.get_design(stocked.reader, "CLR-08").newest is None
    sheets = shop_use_case.shop_data(stocked.reader, stocked.means).sheets
    assert [one["design"] for one in sheets] == ["SAD-20"]
    with pytest.raises(Clash, match="withdrawn already"):
        designs.withdraw_revision(stocked.uow, stocked.means, "CLR-08", "A", OWNER)


MALFORMED = ["", "not toml", "[" * 100_000, "x" * 1_000_000, "a = 'b", "\ud800", "a\0b", FILE[:200]]


def test_a_malformed_file_gets_findings_and_changes_nothing(shop: Shop) -> None:
    for text in MALFORMED:
        loaded = designs.load_design(shop.uow, shop.means, text, ENGINEER)
        assert loaded.revision is None
        assert loaded.findings
    assert [one.code for one in designs.list_designs(shop.reader)] == ["SAD-20"]


def test_bytes_that_are_no_text_get_a_finding(shop: Shop) -> None:
    assert designs.check_text(shop.reader, b"\xff\xfe\x00").findings


@pytest.mark.parametrize("by", [OPERATOR, LEAD])
def test_only_engineer_and_owner_load_release_and_withdraw(shop: Shop, by: object) -> None:
    for action in (
        lambda: designs.load_design(shop.uow, shop.means, FILE, by),  # type: ignore[arg-type]
        lambda: designs.release_revision(shop.uow, shop.means, "SAD-20", "B", by),  # type: ignore[arg-type]
        lambda: designs.withdraw_revision(shop.uow, shop.means, "SAD-20", "B", by),  # type: ignore[arg-type]
    ):
        with pytest.raises(NotAllowed, match="engineer, owner"):
            action()


def test_unknown_designs_and_revisions_are_not_found(shop: Shop) -> None:
    with pytest.raises(NotFound):
        designs.get_design(shop.reader, "NONE")
    with pytest.raises(NotFound):
        designs.get_revision(shop.reader, "SAD-20", "Z")
    with pytest.raises(NotFound):
        designs.release_revision(shop.uow, shop.means, "SAD-20", "Z", ENGINEER)
