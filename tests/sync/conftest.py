"""The shop of these tests must be sound in the end, whatever a test did to it."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.support.invariants import assert_invariants, gaps_of, guarded_rows
from tests.support.shop import Shop, make_shop


@pytest.fixture
def shop(new_database_url: str, tmp_path: Path) -> Iterator[Shop]:
    made = make_shop(new_database_url, tmp_path / "keys")
    yield made
    assert_invariants(made.database, gaps=gaps_of(guarded_rows(made.database)))
    made.database.close()
