"""Items to settle by name and address, and decisions about them, for every page that speaks of them."""

from __future__ import annotations

from urllib.parse import quote

from api.domain.inbox import ItemKind, Settlement

PATH = "/to-settle"
TITLES: dict[ItemKind, str] = {
    "forked": "Copied tablet",
    "other-chain": "Other history",
    "two-answers": "Two answers",
    "refused": "Signature refused",
    "late": "After the signature",
    "set-aside": "Set aside",
    "gap": "Missing records",
    "waiting": "Signature waits",
    "clock": "Wrong clock",
    "silent": "Silent tablet",
    "marked": "Marked records",
}


def decision_words(decision: str) -> str:
    return {
        "dealt with": "dealt with",
        "accepted": "accepted without a new signature",
        "chosen": "one answer chosen",
        "open again": "opened again",
    }.get(decision, decision)


def decided_of(one: Settlement) -> dict[str, str]:
    return {
        "title": TITLES[one.kind],
        "href": href_of(one.kind, one.key),
        "decision": decision_words(one.decision),
    }


def href_of(kind: ItemKind, key: str) -> str:
    return f"{PATH}/{kind}/{quote(key, safe='/')}"
