"""The `shop` fixture, for every folder whose tests need one."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.support.shop import Shop, make_shop


@pytest.fixture
def shop(new_database_url: str, tmp_path: Path) -> Iterator[Shop]:
    made = make_shop(new_database_url, tmp_path / "keys")
    yield made
    made.database.close()
