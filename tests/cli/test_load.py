from __future__ import annotations

from pathlib import Path

from tests.cli.conftest import Run
from tests.support.checkout import ROOT
from tests.support.shop import Shop

DESIGNS = ROOT / "seed_data/designs"


def drafts(shop: Shop) -> list[tuple[str, str]]:
    with shop.reader as uow:
        return [(one.code, one.revision) for one in uow.designs.all() if one.state == "draft"]


def test_a_file_with_a_stop_is_named_and_its_neighbour_is_loaded(
    run: Run, shop: Shop, tmp_path: Path
) -> None:
    wrong = tmp_path / "wrong.toml"
    wrong.write_text("nothing = 1")
    good = with_spec_in_file(tmp_path)
    result = run("load", wrong, good)
    assert result.exit_code == 1
    assert "wrong.toml was not loaded" in result.output
    assert len(drafts(shop)) == 1


def test_a_person_who_may_not_load_is_refused_and_nothing_changes(
    run: Run, shop: Shop, tmp_path: Path
) -> None:
    result = run("load", with_spec_in_file(tmp_path), "--by", "B-01")
    assert result.exit_code == 1
    assert "Traceback" not in result.output
    assert drafts(shop) == []


def test_an_unknown_badge_is_refused_by_name(run: Run, shop: Shop, tmp_path: Path) -> None:
    result = run("load", with_spec_in_file(tmp_path), "--by", "B-77")
    assert result.exit_code == 1
    assert "no badge B-77" in result.output


def test_loading_needs_a_shop(run: Run, tmp_path: Path) -> None:
    result = run("load", with_spec_in_file(tmp_path))
    assert result.exit_code == 1
    assert "There are no records" in result.output


def with_spec_in_file(folder: Path) -> Path:
    """A demonstration design at a revision that the small test shop does not have."""
    file = folder / "CLR-08-A.toml"
    file.write_bytes((DESIGNS / file.name).read_bytes())
    return file
