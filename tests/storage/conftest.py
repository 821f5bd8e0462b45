from __future__ import annotations

from collections.abc import Iterator

import pytest

from api.storage.engine import Database
from tests.support.filled import filled, migrated


@pytest.fixture
def database(new_database_url: str) -> Iterator[Database]:
    """A migrated, empty database."""
    made = filled(new_database_url, migrated)
    yield made
    made.close()
