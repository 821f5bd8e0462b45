"""The server's chain: what links each thing it wrote down to all that came before.

`chain = SHA-256(previous chain + SHA-256(JCS(link)))`, the hashes in lower-case hexadecimal; JCS
is the canonical JSON of RFC 8785. The first previous chain is `NO_PREVIOUS`.
"""

from __future__ import annotations

import datetime as dt
import hashlib
from collections.abc import Mapping
from typing import Any

import rfc8785

from api.domain.events import NO_PREVIOUS
from api.domain.records import JournalEntry, StoredEvent

OLD_FORM, FORM = 1, 2


def canonical(value: Mapping[str, Any]) -> str:
    """JSON of RFC 8785: one text for one value, whoever writes it."""
    return rfc8785.dumps(dict(value)).decode()


def text_hash(text: str) -> str:
    return hashlib.sha256(text.encode()).hexdigest()


def moment(at: dt.datetime) -> str:
    """A moment in UTC with microseconds, always of the same width."""
    return at.astimezone(dt.UTC).strftime("%Y-%m-%dT%H:%M:%S.%fZ").rjust(27, "0")


def linked(previous: str, link: Mapping[str, Any]) -> str:
    return text_hash(previous + text_hash(canonical(link)))


def event_chain(previous: str, event: StoredEvent) -> str:
    """The chain value of an event; databases from before the journal linked its hash alone."""
    if event.form == OLD_FORM:
        return text_hash(previous + event.hash)
    link = {
        "flags": list(event.flags),
        "hash": event.hash,
        "id": event.id,
        "received_at": moment(event.received_at),
        "seq": event.seq,
        "sig": event.sig,
    }
    return linked(previous, link)


def entry_chain(previous: str, entry: JournalEntry) -> str:
    link = {
        "at": moment(entry.at),
        "by": entry.by,
        "hash": entry.hash,
        "kind": entry.kind,
        "seq": entry.seq,
        "subject": entry.subject,
    }
    return linked(previous, link)


__all__ = [
    "FORM",
    "NO_PREVIOUS",
    "OLD_FORM",
    "canonical",
    "entry_chain",
    "event_chain",
    "linked",
    "moment",
    "text_hash",
]
