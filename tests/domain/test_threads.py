"""Threads by the names people write."""

from __future__ import annotations

import pytest

from api.domain.threads import thread_of
from api.mechanics.screws.sizes import THREADS


@pytest.mark.parametrize(
    ("text", "name"),
    [
        ("M8", "M8"),
        ("m8", "M8"),
        ("M8x1.25", "M8"),
        ("M8 × 1", "M8x1"),
        ("5/16-18 UNC", "5/16-18"),
        ("#10-32", "10-32"),
    ],
)
def test_a_thread_is_known_by_its_usual_spellings(text: str, name: str) -> None:
    assert thread_of(text) == THREADS[name]


@pytest.mark.parametrize("text", ["", "M7", "M8x0.5", "5/16", "8"])
def test_a_thread_that_is_not_in_the_table_is_none(text: str) -> None:
    assert thread_of(text) is None


@pytest.mark.parametrize("name", [name for name in THREADS if name[0] == "M" and "x" not in name])
def test_a_coarse_thread_may_be_written_with_its_pitch(name: str) -> None:
    assert thread_of(f"{name}x{THREADS[name].pitch_m * 1e3:g}") == THREADS[name]
