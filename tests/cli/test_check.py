"""`clampbook check` as a person and as a program call it; the computation itself is stood in for."""

from __future__ import annotations

import json
import re
from io import StringIO
from pathlib import Path

import pytest
from rich.console import Console

from api.cli.printing import print_findings, print_result
from tests.cli.conftest import Run
from tests.support.analyses import analyse, sad_20
from tests.support.checkout import ROOT

DESIGN = ROOT / "seed_data/designs/SAD-20-B.toml"
KEYS = (
    "design revision checks clamps order passes pulls movers_expected points stations map mass_kg "
    "time assumed solver cautions"
).split()


@pytest.fixture(autouse=True)
def _quick(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("api.cli.checking.analyse", analyse)


@pytest.fixture
def wrong(tmp_path: Path) -> Path:
    """A design that can be read and has a stop."""
    file = tmp_path / "wrong.toml"
    file.write_text(DESIGN.read_text().replace('"12 N*m"', '"120 N*m"', 1))
    return file


def words(text: str) -> str:
    return " ".join(text.split())


def test_a_design_without_stops_ends_with_status_0_and_shows_the_cautions(run: Run) -> None:
    result = run("check", DESIGN)
    assert result.exit_code == 0, result.output
    assert "Clamps, tools and parts can be thrown" in words(result.output)


def test_every_finding_is_told_before_any_table_with_what_to_do(run: Run) -> None:
    told, _, rest = words(run("check", DESIGN).output).partition("Expected readings")
    for check in sad_20()[1].result.checks:
        assert check.message.replace(" um", " µm") in told
        assert check.fix[1:].replace(" um", " µm").replace("N*m", "N·m") in told
    assert "Compared with the demonstration's stores" in told
    assert "38 57 82 \u221250 to 50 undecided" in rest


def test_stops_are_printed_before_advice_with_their_line(run: Run, wrong: Path) -> None:
    result = run("check", wrong)
    table = result.output.partition(str(wrong))[0]
    levels = re.findall(r"^(stop|advice|note)\b", table, re.MULTILINE)
    assert result.exit_code == 1
    assert levels[0] == "stop"
    assert levels == sorted(levels, key=["stop", "advice", "note"].index)
    assert "line 75, clamp[0].torque" in words(table)


@pytest.mark.parametrize("width", [80, 100])
def test_the_whole_print_fits_the_terminal_and_keeps_every_number(width: int) -> None:
    design, analysis = sad_20()
    console = Console(width=width, record=True, file=StringIO())
    print_findings(console, analysis.result.checks, [])
    print_result(console, analysis.result, design)
    printed = console.export_text()
    assert max(map(len, printed.splitlines())) <= width
    for row in ("C3 12 5.89 7.42 9.61 4.12 5.48 7.31 15 clamp rating", "C3 5.48 1.52 3.59 5.10"):
        assert row in words(printed)
    assert "P1 2.35 1.08 no limit lift dovetail slot" in words(printed)
    assert "a grid twice as fine would change heights by about 0.4 %" in words(printed)


def test_nine_passes_still_fit_80_columns() -> None:
    design, analysis = sad_20()
    force = [610.0 * n for n in range(1, 10)]
    clamps = {
        name: clamp.model_copy(update={"after_pass_n": force})
        for name, clamp in analysis.result.clamps.items()
    }
    shares = [n / 9 for n in range(1, 10)]
    result = analysis.result.model_copy(update={"clamps": clamps, "passes": shares})
    console = Console(width=80, record=True, file=StringIO())
    print_result(console, result, design)
    printed = console.export_text()
    assert max(map(len, printed.splitlines())) <= 80
    assert "C1 5.48 0.61 1.22 1.83 2.44 3.05 3.66 4.27 4.88 5.49 5.32 97" in words(printed)


def test_json_is_the_result_and_nothing_else(run: Run) -> None:
    result = run("check", DESIGN, "--json")
    assert result.exit_code == 0
    found = json.loads(result.stdout)
    assert list(found) == KEYS
    assert found == sad_20()[1].result.model_dump(mode="json")
    assert [list(check) for check in found["checks"]] == [
        ["code", "level", "subject", "message", "fix"]
    ] * 2


@pytest.mark.parametrize("content", [b"", b"not a design", b"\xff\xfe\x00", b"a = {" * 50])
def test_a_file_that_is_no_design_ends_with_status_2(
    run: Run, tmp_path: Path, content: bytes
) -> None:
    file = tmp_path / "odd.toml"
    file.write_bytes(content)
    result = run("check", file)
    assert result.exit_code == 2
    assert "cannot be read as a design" in result.output


@pytest.mark.parametrize(
    ("text", "status"), [("not a design", 2), ('format = "clampbook-design/1"', 1)]
)
def test_json_without_a_design_has_the_same_keys_and_the_findings(
    run: Run, tmp_path: Path, text: str, status: int
) -> None:
    file = tmp_path / "odd.toml"
    file.write_text(text)
    result = run("check", file, "--json")
    found = json.loads(result.stdout)
    assert result.exit_code == status
    assert list(found) == KEYS
    assert found["design"] is found["revision"] is found["map"] is found["solver"] is None
    assert found["clamps"] == found["points"] == found["stations"] == {}
    assert {check["level"] for check in found["checks"]} >= {"stop"}
    assert all(check["fix"] for check in found["checks"])


def test_a_missing_file_ends_with_status_2_and_one_sentence(run: Run, tmp_path: Path) -> None:
    result = run("check", tmp_path / "none.toml")
    assert result.exit_code == 2
    assert "cannot be read" in result.output
    assert "Traceback" not in result.output


def test_checking_makes_no_data_folder(run: Run, data: Path) -> None:
    run("check", DESIGN)
    assert not data.exists()


def test_no_progress_is_drawn_where_nobody_looks(run: Run) -> None:
    assert "bending the plate" not in run("check", DESIGN).output
