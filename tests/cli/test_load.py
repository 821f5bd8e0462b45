from __future__ import annotations

from pathlib import Path

from api.domain.stores import ItemKind
from api.paths import share
from api.use_cases import stores
from api.use_cases.demo.stores import items
from tests.cli.conftest import Run
from tests.support.checkout import ROOT
from tests.support.shop import LEAD, Shop

GOOD = ROOT / "seed_data/designs/CLR-08-A.toml"


def drafts(shop: Shop) -> list[tuple[str, str]]:
    with shop.reader as uow:
        return [(one.code, one.revision) for one in uow.designs.all() if one.state == "draft"]


def test_a_file_with_a_stop_is_named_and_its_neighbour_is_loaded(
    run: Run, shop: Shop, tmp_path: Path
) -> None:
    wrong = tmp_path / "wrong.toml"
    wrong.write_text("nothing = 1")
    stock(shop)
    result = run("load", wrong, GOOD)
    assert result.exit_code == 1
    assert "wrong.toml was not loaded" in result.output
    assert len(drafts(shop)) == 1


def test_a_person_who_may_not_load_is_refused_and_nothing_changes(run: Run, shop: Shop) -> None:
    result = run("load", GOOD, "--by", "B-01")
    assert result.exit_code == 1
    assert "Traceback" not in result.output
    assert drafts(shop) == []


def test_an_unknown_badge_is_refused_by_name(run: Run, shop: Shop) -> None:
    result = run("load", GOOD, "--by", "B-77")
    assert result.exit_code == 1
    assert "no badge B-77" in result.output


def test_loading_needs_a_shop(run: Run) -> None:
    result = run("load", GOOD)
    assert result.exit_code == 1
    assert "There are no records" in result.output


def stock(shop: Shop) -> None:
    """Put what the design names on the shelves."""
    seed, today = share("seed_data"), shop.clock.now().date()
    kinds: tuple[ItemKind, ...] = ("grease", "material", "spec")
    for kind in kinds:
        for body in items(seed, kind, today):
            stores.save_item(shop.uow, shop.means, kind, body, LEAD)
