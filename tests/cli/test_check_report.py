"""`clampbook check --report`: one whole file, or none and a sentence."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from tests.cli.conftest import Run
from tests.support.analyses import analyse
from tests.support.checkout import ROOT

DESIGN = ROOT / "seed_data/designs/SAD-20-B.toml"


@pytest.fixture(autouse=True)
def _quick(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("api.cli.checking.analyse", analyse)


def test_a_report_is_one_file_with_its_style_and_fonts_inside(run: Run, tmp_path: Path) -> None:
    place = tmp_path / "out.html"
    result = run("check", DESIGN, "--report", place)
    assert result.exit_code == 0, result.output
    assert f"The report is in {place}." in " ".join(result.output.split())
    page = place.read_text(encoding="utf-8")
    assert "font/woff2;base64," in page
    assert "url(fonts" not in page
    assert "SAD-20" in page
    assert [each.name for each in tmp_path.iterdir()] == ["out.html"]


def test_a_report_takes_the_place_of_an_older_one(run: Run, tmp_path: Path) -> None:
    place = tmp_path / "out.html"
    place.write_text("old")
    run("check", DESIGN, "--report", place)
    assert place.read_text(encoding="utf-8").startswith("<!doctype html>")


def test_a_report_can_be_had_beside_the_json(run: Run, tmp_path: Path) -> None:
    place = tmp_path / "out.html"
    result = run("check", DESIGN, "--json", "--report", place)
    assert json.loads(result.stdout)["design"] == "SAD-20"
    assert place.is_file()


@pytest.mark.parametrize("name", ["missing/out.html", "."])
def test_a_report_that_cannot_be_written_is_told_in_a_sentence(
    run: Run, tmp_path: Path, name: str
) -> None:
    result = run("check", DESIGN, "--report", tmp_path / name)
    assert result.exit_code == 1
    assert "The report cannot be written to" in result.output
    assert "Name a file in a folder that exists" in " ".join(result.output.split())
    assert list(tmp_path.iterdir()) == []


def test_a_report_of_a_file_that_is_no_design_shows_why(run: Run, tmp_path: Path) -> None:
    file, place = tmp_path / "odd.toml", tmp_path / "out.html"
    file.write_text("not a design")
    result = run("check", file, "--report", place)
    assert result.exit_code == 2
    page = place.read_text(encoding="utf-8")
    assert "Stop." in page
    assert "odd.toml" in page
