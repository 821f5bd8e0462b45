from __future__ import annotations

from pathlib import Path

from tests.cli.conftest import Run
from tests.support.checkout import ROOT
from tests.support.shop import Shop, stock

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


def test_a_loaded_design_is_computed_and_its_conclusion_is_printed(run: Run, shop: Shop) -> None:
    stock(shop)
    result = run("load", GOOD)
    assert result.exit_code == 0
    assert "is in the shop (draft)" in result.output
    assert "Nothing that was computed stops it" in result.output
    assert "Estimates, not measurements." in result.output
    with shop.reader as uow:
        kept = uow.analyses.of("CLR-08", "A")
    assert kept is not None
    assert (kept.state, kept.progress) == ("done", 1.0)
    assert run("load", GOOD).output.count("Nothing that was computed stops it") == 1


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
