from __future__ import annotations

import json
import re
from pathlib import Path

import pytest

from tests.cli.conftest import Run
from tests.support.checkout import ROOT

DESIGN = ROOT / "seed_data/designs/SAD-20-A.toml"


def test_a_sound_design_ends_with_status_0_and_shows_the_cautions(run: Run) -> None:
    result = run("check", DESIGN)
    assert result.exit_code == 0, result.output
    assert "Clamps, tools and parts can be thrown" in " ".join(result.output.split())


def test_a_design_with_a_stop_ends_with_status_1_and_names_line_and_fix(
    run: Run, tmp_path: Path
) -> None:
    file = tmp_path / "wrong.toml"
    file.write_text(DESIGN.read_text().replace('"10 N*m"', '"10 N"', 1))
    result = run("check", file, "--json")
    assert result.exit_code == 1
    stops = [one for one in json.loads(result.output)["checks"] if one["level"] == "stop"]
    assert stops
    assert all(one["line"] > 0 and one["fix"] for one in stops)


def test_stops_are_printed_before_advice(run: Run, tmp_path: Path) -> None:
    file = tmp_path / "wrong.toml"
    file.write_text(DESIGN.read_text() + '\n[[clamp]]\nid = "C99"\n')
    table = run("check", file).output.partition(str(file))[0]
    levels = re.findall(r"^(stop|advice|note)\b(?!s)", table, re.MULTILINE)
    assert levels[0] == "stop"
    assert levels == sorted(levels, key=["stop", "advice", "note"].index)


@pytest.mark.parametrize("content", [b"", b"not a design", b"\xff\xfe\x00", b"a = {" * 50])
def test_a_file_that_is_no_design_ends_with_status_2(
    run: Run, tmp_path: Path, content: bytes
) -> None:
    file = tmp_path / "odd.toml"
    file.write_bytes(content)
    result = run("check", file)
    assert result.exit_code == 2
    assert "cannot be read as a design" in result.output


def test_a_missing_file_ends_with_status_2_and_one_sentence(run: Run, tmp_path: Path) -> None:
    result = run("check", tmp_path / "none.toml")
    assert result.exit_code == 2
    assert "cannot be read" in result.output
    assert "Traceback" not in result.output


def test_checking_makes_no_data_folder(run: Run, data: Path) -> None:
    run("check", DESIGN)
    assert not data.exists()
