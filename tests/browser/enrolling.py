"""How browsers and plain clients become tablets of a shop: a lead's code, a key, a session."""

from __future__ import annotations

import itertools
import uuid
from functools import cache
from pathlib import Path

from api.domain.people import Person, Role
from api.means import means_for
from api.security.tablet_keys import TabletKey
from api.settings import Settings
from api.storage.engine import Database
from api.storage.unit_of_work import SqlUnitOfWork
from api.use_cases.tablets import make_code
from tests.support.net import post
from tests.support.server import Server

LEAD = Person(badge="B-03", role=Role.LEAD)
_names = itertools.count(1)


def code_for(url: str, name: str = "") -> str:
    """A code of the shop that runs at this address, made beside it on its own database."""
    return code_in(Server.folders[url], name)


def code_in(folder: Path, name: str = "") -> str:
    settings = Settings(data=folder, database_url="")
    database = Database(settings.database)
    try:
        uow = SqlUnitOfWork(database)
        return make_code(uow, means_for(settings), name or f"Tablet {next(_names)}", LEAD).code
    finally:
        database.close()


def enrol(url: str, tablet: str, key: TabletKey) -> dict[str, str]:
    """Makes the tablet one of the shop's and returns the cookies of its session."""
    code = code_for(url).replace("-", "")
    body = {
        "code": code,
        "tablet": tablet,
        "key": key.public,
        "proof": key.sign(f"clampbook-enrol/1 {code} {tablet}"),
        "build": "test",
    }
    post(f"{url}/api/tablets/enrol", body).raise_for_status()
    return session(url, tablet, key)


def session(url: str, tablet: str, key: TabletKey) -> dict[str, str]:
    asked = post(f"{url}/api/tablets/challenge", {"tablet": tablet}).raise_for_status()
    nonce = asked.json()["nonce"]
    proof = key.sign(f"clampbook-session/1 {nonce} {tablet}")
    body = {"tablet": tablet, "nonce": nonce, "proof": proof}
    made = post(f"{url}/api/tablets/session", body).raise_for_status()
    return dict(made.cookies)


@cache
def reading_cookies(url: str) -> dict[str, str]:
    """A session with which a test may ask what the server holds; one tablet for each server."""
    return enrol(url, str(uuid.uuid4()), TabletKey())
