"""Items in words: what happened in one sentence, and what to do about it."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from api.domain.inbox import Item, ItemKind
from api.routes.office.formatting import count
from api.routes.office.logbook.flags import flag_words
from api.routes.office.logbook.words import step_id_words

SHAPES = {"now": "triangle", "soon": "diamond", "look": "ring"}
GRADE_WORDS = {"now": "now", "soon": "soon", "look": "when there is time"}
MOST_RANGES = 6
_PATTERN = re.compile(r"(?P<field>[\w.]+): String should match pattern ")
NameOf = Callable[[str | None], str]


@dataclass(frozen=True, slots=True)
class Words:
    what: str
    do: str


def naming(names: Mapping[str, str]) -> NameOf:
    """Tablets by the names their leads gave them."""

    def name_of(tablet: str | None) -> str:
        if tablet is None:
            return "not known"
        return names.get(tablet) or tablet[:13]

    return name_of


def tell(item: Item, name_of: NameOf) -> Words:
    return _TELLERS[item.kind](item, name_of(item.where.tablet))


def ranges_words(ranges: Sequence[Sequence[int]]) -> str:
    """4, 6 to 9"""
    shown = [
        str(first) if first == last else f"{first} to {last}"
        for first, last in ranges[:MOST_RANGES]
    ]
    more = len(ranges) - MOST_RANGES
    return ", ".join(shown) + (f" and {count(more, 'more gap')}" if more > 0 else "")


def _forked(item: Item, tablet: str) -> Words:
    return Words(
        f"Two devices write under the name of tablet {tablet}: a copy of it is about.",
        "Find both, revoke this name under Crew, and enrol the true one anew.",
    )


def _other_chain(item: Item, tablet: str) -> Words:
    return Words(
        f"Tablet {tablet} knows another history of this server than the one that is here.",
        "Find out who put back or changed the database; 'clampbook verify' names the first record "
        "that does not agree.",
    )


def _two_answers(item: Item, tablet: str) -> Words:
    by = " and ".join(item.facts["people"]) or "Two tablets"
    return Words(
        f"{by} answered one step on two tablets: {step_id_words(item.where.step)}.",
        "Look at both and choose the one that stands.",
    )


def _refused(item: Item, tablet: str) -> Words:
    why = item.facts["reason"].rstrip(".") or "no reason was kept"
    return Words(
        f"The signature of {item.where.person} ({item.facts['meaning']}) was refused: {why}.",
        "Have the setup signed again at the bench, or say why that is not needed.",
    )


def _late(item: Item, tablet: str) -> Words:
    amount = len(item.facts["records"])
    by = item.facts["signed_by"]
    return Words(
        f"{count(amount, 'record')} came after the signature{f' of {by}' if by else ''}, and no "
        f"signature covers {'it' if amount == 1 else 'them'}.",
        "Have the setup signed again at the bench, or accept what came with a reason.",
    )


def _set_aside(item: Item, tablet: str) -> Words:
    return Words(
        f"Something tablet {tablet} sent could not be taken as a record: "
        f"{plain_reason(item.facts['reason'])}",
        "Read it, and say what was done about it. It is kept whole in any case.",
    )


def _gap(item: Item, tablet: str) -> Words:
    amount = item.facts["missing"]
    are, numbers = ("is", "number") if amount == 1 else ("are", "numbers")
    return Words(
        f"{count(amount, 'record')} of tablet {tablet} {are} missing: {numbers} "
        f"{ranges_words(item.facts['ranges'])}.",
        "Bring the tablet into the network; it sends them by itself. If it is lost, say so.",
    )


def _waiting(item: Item, tablet: str) -> Words:
    why = item.facts["reason"].rstrip(".") or "its PIN has not been compared yet"
    gap = f" Records of tablet {tablet} before it are missing." if item.facts["gap"] else ""
    return Words(
        f"The signature of {item.where.person} ({item.facts['meaning']}) is still provisional: "
        f"{why}.{gap}",
        "Bring the tablet into the network, or have the setup signed again.",
    )


def _clock(item: Item, tablet: str) -> Words:
    amount = len(item.facts["records"])
    return Words(
        f"The clock of tablet {tablet} was wrong at {count(amount, 'record')}.",
        "Set the tablet's clock. The order of the records is the server's and holds.",
    )


def _silent(item: Item, tablet: str) -> Words:
    why = "while a setup is half done on it" if item.facts["at_work"] else "and records are missing"
    return Words(
        f"Tablet {tablet} has not been seen for a while, {why}.",
        "Switch it on within reach of the network; this goes away by itself.",
    )


def _marked(item: Item, tablet: str) -> Words:
    words = "; ".join(flag_words(flag) for flag in item.facts["flags"])
    return Words(
        f"Records of this setup are marked: {words}.",
        "Look at them in the setup's record, and say whether they are in order.",
    )


_TELLERS: dict[ItemKind, Callable[[Item, str], Words]] = {
    "forked": _forked,
    "other-chain": _other_chain,
    "two-answers": _two_answers,
    "refused": _refused,
    "late": _late,
    "set-aside": _set_aside,
    "gap": _gap,
    "waiting": _waiting,
    "clock": _clock,
    "silent": _silent,
    "marked": _marked,
}


def plain_reason(reason: str) -> str:
    """As it was kept, but for the patterns that only a programmer reads."""
    found = _PATTERN.match(reason)
    return f"'{found['field']}' is not written as it should be." if found else reason
