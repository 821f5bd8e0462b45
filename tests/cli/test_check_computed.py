"""`clampbook check` with the computation itself, on a small plate."""

from __future__ import annotations

import json
from pathlib import Path

from tests.cli.conftest import Run
from tests.domain.designs.examples import BASE


def test_a_design_is_computed_and_every_clamp_point_and_station_is_told(
    run: Run, tmp_path: Path
) -> None:
    file = tmp_path / "test.toml"
    file.write_text(BASE)
    result = run("check", file, "--json", "--report", tmp_path / "out.html")
    found = json.loads(result.stdout)
    assert result.exit_code in {0, 1}
    assert found["solver"]["reaction_error"] < 1e-9
    assert all(clamp["side_n"]["low"] > 0 for clamp in found["clamps"].values())
    assert list(found["clamps"]) == ["C1", "C2"]
    assert set(found["map"]["w_um"]) >= {"snug free", "torqued free", "torqued locked"}
    assert "Torqued locked" in (tmp_path / "out.html").read_text(encoding="utf-8")
