"""A real server for the faults that need one, beside the shop of all tests of the exchange."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.support.shop_fixture import shop
from tests.support.sim.served import ServedSite

__all__ = ["served", "shop"]


@pytest.fixture
def served(new_database_url: str, tmp_path: Path) -> Iterator[ServedSite]:
    """A shop behind a real process on each engine in turn."""
    on_file = new_database_url.startswith("sqlite")
    site = ServedSite(tmp_path, "" if on_file else new_database_url)
    yield site
    site.close()
