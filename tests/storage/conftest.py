from __future__ import annotations

from collections.abc import Iterator

import pytest

from api.paths import share
from api.storage import migrate
from api.storage.engine import Database


@pytest.fixture
def database(database_url: str) -> Iterator[Database]:
    """A migrated, empty database."""
    made = Database(database_url)
    migrate.upgrade(made, share("migrations"))
    yield made
    made.close()
