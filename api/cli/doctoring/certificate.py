"""The certificate: how long it is good, and whether it names this server."""

from __future__ import annotations

from api.cli.doctoring.answer import Answer
from api.domain.errors import ClampbookError
from api.security.authority import CertificateFacts, certificate_facts
from api.settings import Settings

EARLY_DAYS = 14.0
UNUSED = {"none": "none is used here", "proxy": "the server in front holds it"}


def certificate(settings: Settings) -> Answer:
    if settings.tls_kind in UNUSED:
        return Answer("certificate", UNUSED[settings.tls_kind])
    try:
        facts = certificate_facts(settings)
    except (ClampbookError, OSError, ValueError) as problem:
        todo = "Correct CLAMPBOOK_TLS_CERT and CLAMPBOOK_TLS_KEY, or restore the keys folder."
        return Answer("certificate", f"it cannot be read: {problem}", todo)
    if facts is None:
        return Answer("certificate", "none yet; the first start makes it")
    return judged(facts, settings.name)


def judged(facts: CertificateFacts, name: str) -> Answer:
    """One of the server's own renews itself while the server runs."""
    names = ", ".join(facts.names)
    found = f"good until {facts.ends:%Y-%m-%d}, for {names}"
    if facts.days_left <= 0:
        todo = "Start the server, which renews it." if facts.kind == "own" else "Renew it."
        return Answer("certificate", f"it has ended: {found}", todo)
    if name and name not in facts.names:
        todo = f"Have one made for {name}, or correct CLAMPBOOK_NAME."
        return Answer("certificate", f"it does not name {name}: {found}", todo)
    if (facts.authority_days_left or EARLY_DAYS) < EARLY_DAYS:
        todo = "Plan a new authority: every tablet has to be told of it."
        return Answer("certificate", f"its authority ends soon; {found}", todo)
    early = "Renew it." if facts.days_left < EARLY_DAYS else ""
    return Answer("certificate", found, early)
