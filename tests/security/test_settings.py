"""Settings of the shop's own network: what follows from what, and what does not fit together."""

from __future__ import annotations

from pathlib import Path

import pytest
from pydantic import ValidationError

from api.settings import Settings

EVERYWHERE = "0.0.0.0"  # noqa: S104
PAIR = {"tls_cert": Path("shop.crt"), "tls_key": Path("shop.key")}


def settings(**given: object) -> Settings:
    return Settings.model_validate(given)


@pytest.mark.parametrize("host", ["127.0.0.1", "::1", "localhost", "127.3.2.1"])
def test_this_machine_alone_needs_no_encryption(host: str) -> None:
    made = settings(host=host)
    assert (made.tls_kind, made.over_https, made.port) == ("none", False, 8000)


@pytest.mark.parametrize("host", [EVERYWHERE, "192.168.1.20", "::", "bench.test"])
def test_every_other_address_gets_the_shop_s_own_certificate_on_another_port(host: str) -> None:
    made = settings(host=host)
    assert (made.tls_kind, made.port, made.welcome_port) == ("own", 8443, 8000)
    assert settings(host=host, port=443).port == 443


def test_files_of_one_s_own_come_before_the_shop_s_authority() -> None:
    assert settings(host=EVERYWHERE, **PAIR).tls_kind == "files"
    assert settings(host=EVERYWHERE, tls="none").tls_kind == "none"


@pytest.mark.parametrize(
    ("given", "kept"),
    [
        ("Clampbook.LOCAL.", "clampbook.local"),
        ("192.168.1.20", "192.168.1.20"),
        ("[fd00::2]", "fd00::2"),
    ],
)
def test_a_name_is_kept_as_browsers_write_it(given: str, kept: str) -> None:
    assert settings(name=given).name == kept


@pytest.mark.parametrize(
    ("given", "said"),
    [
        ({"name": "clamp.test:8443"}, "without port"),
        ({"name": "https://clamp.test"}, "neither a host name nor an address"),
        ({"name": "-clamp"}, "neither a host name nor an address"),
        ({"tls": "files"}, "needs the certificate"),
        ({"tls_cert": "shop.crt"}, "belong together"),
        ({"tls": "proxy"}, "needs the reverse proxy's address"),
        ({"proxy_address": "*"}, "not the address of a reverse proxy"),
        ({"proxy_address": "0.0.0.0/0"}, "not the address of a reverse proxy"),
        ({"tls": "own", "port": 9000, "welcome_port": 9000}, "are both 9000"),
    ],
)
def test_what_does_not_fit_is_refused_with_the_way_out(given: dict[str, object], said: str) -> None:
    with pytest.raises(ValidationError, match=said):
        settings(**given)
