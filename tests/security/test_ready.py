"""The server's half of the readiness check: it believes a right signature of its own nonce, once."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import httpx
import pytest

from api.routes.welcome.ready import ready_text
from api.security.tablet_keys import TabletKey
from tests.support.server import Server
from tests.support.tls_server import NAME, TlsServer


@pytest.fixture(scope="module")
def shop(tmp_path_factory: pytest.TempPathFactory) -> Iterator[TlsServer]:
    with TlsServer(tmp_path_factory.mktemp("ready") / "shop") as started:
        yield started


def prove(shop: TlsServer, **body: str) -> httpx.Response:
    return shop.ask("POST", "/api/ready", json=body)


def begun(shop: TlsServer) -> str:
    answer = shop.get("/api/ready").json()
    assert answer["origin"] == shop.url == f"https://{NAME}:{shop.port}"
    return str(answer["nonce"])


def test_a_signature_of_the_nonce_is_found_right_and_counts_once(shop: TlsServer) -> None:
    key, nonce = TabletKey(), begun(shop)
    proof = {"nonce": nonce, "key": key.public, "signature": key.sign(ready_text(nonce))}
    assert prove(shop, **proof).json() == {"signed": True}
    again = prove(shop, **proof)
    assert again.status_code == 422
    assert "used before" in again.json()["detail"]


def test_a_wrong_key_signature_or_nonce_is_refused_with_its_reason(shop: TlsServer) -> None:
    key, nonce = TabletKey(), begun(shop)
    right = {"nonce": nonce, "key": key.public, "signature": key.sign(ready_text(nonce))}
    made_up = "1-2-3"
    for wrong, said in (
        ({"key": "AAAA"}, "does not belong"),
        ({"key": TabletKey().public}, "does not belong"),
        ({"signature": key.sign(nonce)}, "does not belong"),
        ({"nonce": made_up, "signature": key.sign(ready_text(made_up))}, "older than a minute"),
        ({"nonce": ""}, "nonce"),
        ({"key": "A" * 201}, "key"),
    ):
        answer = prove(shop, **{**right, **wrong})
        assert answer.status_code == 422
        assert said in answer.json()["detail"]


def test_nothing_of_it_is_kept_and_no_sign_in_is_asked_for(shop: TlsServer) -> None:
    before = shop.get("/api/health", host=f"localhost:{shop.port}").json()["head"]
    page = shop.get("/ready")
    assert page.status_code == 200
    assert "set-cookie" not in page.headers
    assert f'data-origin="{shop.url}"' in page.text
    assert "<script>" not in page.text
    worker = shop.get("/ready/worker.js")
    assert worker.headers["content-type"].startswith("text/javascript")
    assert shop.get("/api/health").json()["head"] == before


def test_on_this_machine_alone_any_address_will_do(tmp_path: Path) -> None:
    with Server(tmp_path / "shop") as server:
        assert httpx.get(f"{server.url}/api/ready").json()["origin"] == ""
