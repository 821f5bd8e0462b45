"""A tablet at the other end of a wire: enrols, opens a session, signs and pushes, over http."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Any

import httpx

from api.domain.people import Person, Role
from api.means import means_for
from api.settings import Settings
from api.storage.engine import Database
from api.storage.unit_of_work import SqlUnitOfWork
from api.use_cases import tablets
from tests.support.net import PATIENCE_S
from tests.support.script import Tablet

LEAD = Person(badge="B-03", role=Role.LEAD)


def new_code(data: Path, name: str = "Bench", database_url: str = "") -> str:
    """A code as a lead makes it in the office of the shop in this folder, served or not."""
    settings = Settings(data=data, database_url=database_url)
    database = Database(settings.database)
    try:
        return tablets.make_code(SqlUnitOfWork(database), means_for(settings), name, LEAD).code
    finally:
        database.close()


class Pusher:
    """Speaks for one `Tablet` of `tests.support.script`; its client holds the session's cookie."""

    def __init__(self, tablet: Tablet, client: httpx.Client | str) -> None:
        self.tablet = tablet
        self.client = (
            httpx.Client(base_url=client, timeout=PATIENCE_S) if isinstance(client, str) else client
        )

    def enrol(self, code: str, **changes: Any) -> httpx.Response:
        plain, name = tablets.plain_code(code), self.tablet.name
        body = {
            "code": code,
            "tablet": name,
            "key": self.tablet.key.public,
            "proof": self.tablet.key.sign(tablets.enrol_text(plain, name)),
            "build": "test",
        }
        return self.client.post("/api/tablets/enrol", json=body | changes)

    def nonce(self) -> str:
        answer = self.client.post("/api/tablets/challenge", json={"tablet": self.tablet.name})
        return str(answer.raise_for_status().json()["nonce"])

    def open_session(self, nonce: str | None = None) -> httpx.Response:
        nonce, name = nonce or self.nonce(), self.tablet.name
        proof = self.tablet.key.sign(tablets.session_text(nonce, name))
        body = {"tablet": name, "nonce": nonce, "proof": proof}
        return self.client.post("/api/tablets/session", json=body)

    def admit(self, code: str) -> Pusher:
        """Enrols and opens a session; fails by name where either is refused."""
        self.enrol(code).raise_for_status()
        self.open_session().raise_for_status()
        return self

    def body(self, texts: Sequence[object] | None = None, **more: Any) -> dict[str, Any]:
        sent = list(self.tablet.texts if texts is None else texts)
        sigs = self.tablet.sigs(sent)
        return {"tablet": self.tablet.name, "build": "test", "events": sent, "sigs": sigs} | more

    def push(self, texts: Sequence[object] | None = None, **more: Any) -> httpx.Response:
        return self.client.post("/api/sync/push", json=self.body(texts, **more))

    def pull(self, after: int = 0) -> httpx.Response:
        return self.client.get("/api/sync/pull", params={"after": after})
