from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from api.operating.disk import DiskWatch, existing, size


def test_room_enough_is_no_reason(tmp_path: Path) -> None:
    watch = DiskWatch([tmp_path], 1)
    assert watch.low() == ""
    assert watch.free_bytes() > 1


def test_too_little_room_is_said_with_the_folder_and_what_to_do(tmp_path: Path) -> None:
    low = DiskWatch([tmp_path], 1 << 60).low()
    assert str(tmp_path) in low
    assert "Free some space" in low


def test_it_looks_at_most_once_in_its_time(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    looks: list[Path] = []
    real = shutil.disk_usage

    def counted(path: Path) -> object:
        looks.append(path)
        return real(path)

    monkeypatch.setattr("api.operating.disk.shutil.disk_usage", counted)
    seldom, always = DiskWatch([tmp_path], 1, look_every_s=3600), DiskWatch([tmp_path], 1, 0)
    for _ in range(5):
        seldom.low()
    assert len(looks) == 1
    for _ in range(5):
        always.low()
    assert len(looks) == 6


def test_a_folder_that_is_not_there_yet_is_looked_at_where_it_will_be(tmp_path: Path) -> None:
    assert existing(tmp_path / "a/b") == tmp_path
    assert DiskWatch([tmp_path / "a/b"], 1).low() == ""


def test_sizes_are_short() -> None:
    assert size(1_500_000_000) == "1.5 GB"
    assert size(250_000) == "0.2 MB"
