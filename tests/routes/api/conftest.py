from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import httpx
import pytest

from api.app import create_app
from api.settings import Settings
from tests.support.pusher import Pusher
from tests.support.shop import Shop, make_shop
from tests.support.site import client_of


@pytest.fixture
def configured(new_database_url: str, tmp_path: Path) -> Settings:
    return Settings(data=tmp_path / "data", database_url=new_database_url)


@pytest.fixture
def shop(configured: Settings) -> Iterator[Shop]:
    made = make_shop(configured.database, configured.keys)
    yield made
    made.database.close()


@pytest.fixture
def stranger(configured: Settings, shop: Shop) -> Iterator[httpx.Client]:
    """Somebody without any session."""
    with client_of(create_app(configured)) as made:
        yield made


@pytest.fixture
def pusher(stranger: httpx.Client, shop: Shop) -> Pusher:
    """Tablet `tab-1`, enrolled and admitted."""
    made = Pusher(shop.tablet(), stranger)
    made.open_session().raise_for_status()
    return made


@pytest.fixture
def client(pusher: Pusher) -> httpx.Client:
    return pusher.client
