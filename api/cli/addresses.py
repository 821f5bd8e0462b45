"""What the terminal shows at the start: where to go, and by what a new device knows the shop."""

from __future__ import annotations

import io

import segno
from cryptography.hazmat.primitives.serialization import Encoding
from cryptography.x509.oid import NameOID

from api.cli.output import say
from api.routes.welcome import Welcome
from api.security.authority import Certificate, canonical_origin, welcome_origin
from api.security.tls.certificates import fingerprint, limits_of
from api.security.tls.names import as_address, origin, own_addresses
from api.security.tls.served import OwnCertificate
from api.settings import Settings, is_loopback

PAIRS_A_LINE = 8
UNPROTECTED = (
    "A browser on another machine keeps working without this server only over https. Leave "
    "CLAMPBOOK_TLS out, and this server makes a certificate of its own; or open the bench here."
)


def address_of(settings: Settings) -> str:
    """The address to type into a browser."""
    if settings.over_https:
        return canonical_origin(settings)
    addresses = () if is_loopback(settings.host) else own_addresses(settings.host)
    return origin("http", str(addresses[0]) if addresses else settings.host, settings.port)


def welcome_of(settings: Settings, certificate: Certificate | None) -> Welcome | None:
    """What the plain-http door tells; None where there is none."""
    if not settings.over_https or not settings.welcome_port:
        return None
    here = canonical_origin(settings)
    if not isinstance(certificate, OwnCertificate):
        return Welcome(here, here)
    authority = certificate.authority.certificate
    called = authority.subject.get_attributes_for_oid(NameOID.COMMON_NAME)[0].value
    return Welcome(
        here,
        welcome_origin(settings),
        authority.public_bytes(Encoding.DER),
        str(called),
        fingerprint(authority),
        limits_of(authority),
    )


def print_address(settings: Settings, told: Welcome | None = None) -> None:
    address = address_of(settings)
    say(f"\nBench   {address}/bench\nOffice  {address}/")
    if told is not None and told.certificate:
        _print_welcome(settings, told)
        return
    say(_code(f"{address}/bench"))
    if settings.tls_kind == "proxy":
        say(f"Only the reverse proxy at {settings.proxy_address} is believed when it says https.")
    elif settings.tls_kind == "none" and not is_loopback(settings.host):
        say(UNPROTECTED)


def _print_welcome(settings: Settings, told: Welcome) -> None:
    say(
        f"\nA new device starts here, where it gets this shop's certificate:\n        {told.address}/"
    )
    say(_code(f"{told.address}/"))
    say(f"{told.called}, fingerprint (SHA-256):\n{_in_lines(told.fingerprint)}")
    host = canonical_origin(settings).partition("//")[2]
    if as_address(host.rpartition(":")[0].strip("[]")) is None:
        say(
            f"\nDevices have to find {host} by its name. If they do not, start before the first "
            "tablet is enrolled with --name ADDRESS, this machine's fixed address."
        )


def _in_lines(fingerprint_text: str) -> str:
    """As the welcome page shows it, to be compared line by line."""
    pairs = fingerprint_text.split(":")
    lines = [pairs[at : at + PAIRS_A_LINE] for at in range(0, len(pairs), PAIRS_A_LINE)]
    return "\n".join(" ".join(line) for line in lines)


def _code(text: str) -> str:
    picture = io.StringIO()
    segno.make(text, micro=False).terminal(picture, compact=True, border=2)
    return picture.getvalue()
