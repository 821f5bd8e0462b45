"""A setup's events as lines to read: in order, with links between them and flags in words."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

from api.domain.records import StoredEvent, StoredSignature
from api.routes.office.logbook.flags import flag_words
from api.routes.office.logbook.words import tell

PARTS = {
    "clean": "Cleaning",
    "free": "Free running of each screw",
    "grease": "Greasing",
    "load": "Parts in",
    "snug": "Snug",
    "recheck": "Re-check",
    "lift": "Locking",
    "lock": "Locking",
    "unlock": "Locking",
    "gap": "Locking",
    "zero": "Indicator",
    "read": "Indicator",
    "touch": "Second touch",
    "judge": "Judgement and signature",
    "sign": "Judgement and signature",
    "machine": "After signing",
    "ease": "After signing",
    "unload": "After signing",
}


@dataclass(frozen=True)
class Link:
    seq: int
    words: str


@dataclass(frozen=True)
class Line:
    """One event as the record shows it."""

    seq: int
    id: str
    at: Any
    person: str
    kind: str
    step: str | None
    what: str
    value: str
    more: list[str]
    links: list[Link]
    flags: list[str]
    hash: str
    tablet: str
    n: int
    tone: str = ""
    divide: str = ""


@dataclass
class Web:
    """Which events speak of which others."""

    seq_of: dict[str, int]
    corrected_by: dict[str, list[int]] = field(default_factory=dict)
    closed_by: dict[str, int] = field(default_factory=dict)


def data_of(event: StoredEvent) -> dict[str, Any]:
    data: dict[str, Any] = json.loads(event.text)["data"]
    return data


def lines_of(
    events: Sequence[StoredEvent], signatures: Sequence[StoredSignature], additions: Sequence[str]
) -> list[Line]:
    """Every event in the server's order."""
    datas = {event.id: data_of(event) for event in events}
    web = _web(events, datas)
    verdicts = {one.event: one for one in signatures}
    lines: list[Line] = []
    part = ""
    for event in events:
        now = part_of(event.step) or part
        divide = now if now != part else ""
        part = now
        data = datas[event.id]
        lines.append(_line(event, data, web, verdicts.get(event.id), event.id in additions, divide))
    return lines


def part_of(step: str | None) -> str:
    """The part of the plan a step id belongs to; empty without a step."""
    if not step:
        return ""
    kind, _, rest = step.partition("/")
    return f"Pass {rest.split('/')[0]}" if kind == "torque" else PARTS.get(kind, "")


def _web(events: Sequence[StoredEvent], datas: dict[str, dict[str, Any]]) -> Web:
    web = Web({event.id: event.seq for event in events})
    for event in events:
        data = datas[event.id]
        if event.kind in ("correction", "after-signature addition") and data.get("refers"):
            web.corrected_by.setdefault(str(data["refers"]), []).append(event.seq)
        if event.kind == "note" and data.get("closes"):
            web.closed_by[str(data["closes"])] = event.seq
    return web


def _line(
    event: StoredEvent,
    data: dict[str, Any],
    web: Web,
    signature: StoredSignature | None,
    added: bool,
    divide: str,
) -> Line:
    told = tell(event.kind, event.step, data)
    corrected = web.corrected_by.get(event.id, [])
    more = [*told.more, *([_verdict(signature)] if signature else [])]
    return Line(
        seq=event.seq,
        id=event.id,
        at=event.at,
        person=event.person or "nobody",
        kind=event.kind,
        step=event.step,
        what=told.what,
        value=told.value,
        more=more,
        links=_links(event, data, web, corrected),
        flags=[flag_words(flag) for flag in event.flags],
        hash=event.hash,
        tablet=event.tablet,
        n=event.n,
        tone="changed" if corrected else ("added" if added else ""),
        divide=divide,
    )


def _links(event: StoredEvent, data: dict[str, Any], web: Web, corrected: list[int]) -> list[Link]:
    links = [Link(seq, f"corrected by record {seq}") for seq in corrected]
    refers = web.seq_of.get(str(data.get("refers")))
    if refers is not None:
        links.append(Link(refers, f"refers to record {refers}"))
    closes = web.seq_of.get(str(data.get("closes")))
    if closes is not None:
        links.append(Link(closes, f"closes the trouble of record {closes}"))
    if event.id in web.closed_by:
        links.append(Link(web.closed_by[event.id], f"closed by record {web.closed_by[event.id]}"))
    return links


def _verdict(signature: StoredSignature) -> str:
    reason = f": {signature.reason}" if signature.reason else ""
    return f"the server's verdict: {signature.verdict}{reason}"
