"""What the terminal tells: where to go, and what a shop without encryption of its own gives up."""

from __future__ import annotations

from pathlib import Path

import pytest

from api.cli.addresses import address_of, print_address, welcome_of
from api.security.authority import open_certificate
from api.settings import Settings

EVERYWHERE = "0.0.0.0"  # noqa: S104


def settings(data: Path, **given: object) -> Settings:
    return Settings.model_validate({"data": data, **given})


@pytest.mark.parametrize(
    ("given", "shown"),
    [
        ({}, "http://127.0.0.1:8000"),
        ({"host": "::1", "port": 8001}, "http://[::1]:8001"),
        ({"host": "10.1.2.3", "tls": "none"}, "http://10.1.2.3:8000"),
        ({"host": "10.1.2.3", "name": "clamp.test"}, "https://clamp.test:8443"),
        ({"host": "10.1.2.3", "name": "10.1.2.3", "port": 443}, "https://10.1.2.3"),
        ({"host": EVERYWHERE, "name": "fd00::2"}, "https://[fd00::2]:8443"),
    ],
)
def test_the_address_is_one_a_browser_takes(
    tmp_path: Path, given: dict[str, object], shown: str
) -> None:
    assert address_of(settings(tmp_path, **given)) == shown


def test_a_new_device_is_sent_to_the_address_not_the_name(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    made = settings(tmp_path, host="10.1.2.3", name="clamp.test")
    told = welcome_of(made, open_certificate(made))
    assert told is not None
    assert told.address == "http://10.1.2.3:8000"
    assert told.limited_to == ("clamp.test", "localhost")
    print_address(made, told)
    printed = capsys.readouterr().out
    assert "http://10.1.2.3:8000/" in printed
    assert "have to find clamp.test:8443 by its name" in printed


def test_a_shop_known_by_its_address_is_spared_the_advice_on_names(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    made = settings(tmp_path, host="10.1.2.3", name="10.1.2.3")
    print_address(made, welcome_of(made, open_certificate(made)))
    assert "by its name" not in capsys.readouterr().out


def test_no_welcome_page_without_its_port_or_without_https(tmp_path: Path) -> None:
    closed = settings(tmp_path, host="10.1.2.3", welcome_port=0)
    assert welcome_of(closed, open_certificate(closed)) is None
    assert welcome_of(settings(tmp_path), None) is None


def test_plain_http_beyond_this_machine_says_what_it_costs(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    print_address(settings(tmp_path, host="10.1.2.3", tls="none"))
    assert "only over https" in capsys.readouterr().out
    print_address(settings(tmp_path, host="10.1.2.3", tls="proxy", proxy_address="10.1.2.4"))
    assert "Only the reverse proxy at 10.1.2.4 is believed" in capsys.readouterr().out
    print_address(settings(tmp_path))
    assert "https" not in capsys.readouterr().out
