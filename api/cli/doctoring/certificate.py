"""The certificate: how long it is good, and whether it names this server."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

from cryptography import x509

from api.cli.doctoring.answer import Answer
from api.settings import Settings

EARLY = dt.timedelta(days=14)
UNUSED = {"none": "none is used here", "proxy": "the server in front holds it"}


def certificate(settings: Settings) -> Answer:
    if settings.tls_kind in UNUSED:
        return Answer("certificate", UNUSED[settings.tls_kind])
    if settings.tls_cert is None:
        return Answer("certificate", "made by the server where its address needs one")
    return of_file(settings.tls_cert, settings.name)


def of_file(path: Path, name: str, now: dt.datetime | None = None) -> Answer:
    """The first certificate of the file is the server's own."""
    now = now or dt.datetime.now(dt.UTC)
    try:
        leaf = x509.load_pem_x509_certificates(path.read_bytes())[0]
    except (OSError, ValueError) as problem:
        todo = "Name a PEM file with the server's certificate in CLAMPBOOK_TLS_CERT."
        return Answer("certificate", f"{path} cannot be read: {problem}", todo)
    ends = leaf.not_valid_after_utc
    found = f"{path}, good until {ends:%Y-%m-%d}"
    if not leaf.not_valid_before_utc <= now <= ends:
        return Answer("certificate", f"{found}, is not good today", "Renew it, or set the clock.")
    if name and name not in _names(leaf):
        told = f"{found}, does not name {name}"
        return Answer("certificate", told, f"Have one made for {name}, or set CLAMPBOOK_NAME.")
    return Answer("certificate", found, "Renew it." if ends - now < EARLY else "")


def _names(leaf: x509.Certificate) -> list[str]:
    try:
        names = leaf.extensions.get_extension_for_class(x509.SubjectAlternativeName).value
    except x509.ExtensionNotFound:
        return []
    return [str(one.value) for one in names]
