"""What only a folded setup tells: two answers, records that no signature covers, marks that hold."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Sequence
from dataclasses import dataclass
from threading import Lock

from api.domain.records import SetupSummary
from api.domain.setups import unsigned_additions
from api.use_cases.ports import UnitOfWork
from api.use_cases.records import folding
from api.use_cases.records.folding import Folded

FOLD_FLAGS = frozenset(
    {"out of order", "locked with open clamps", "signed with open steps", "fits nothing"}
)
"""Marks that a record may have got only because others arrived after it."""
FOLD_TELLS = FOLD_FLAGS | {"two answers", "after signature"}
MOST_REMEMBERED = 4000


@dataclass(frozen=True, slots=True)
class OpenPoints:
    """Of one setup: steps with their answers, ids of unsigned additions, marks that hold now."""

    two_answers: tuple[tuple[str, tuple[str, ...]], ...]
    additions: tuple[str, ...]
    flags: frozenset[str]


class Memory:
    """Open points by what they follow from, so that a setup is folded once for each change of it.

    The chain value of its last event stands for everything before it, whichever the database.
    """

    def __init__(self) -> None:
        self._known: OrderedDict[object, OpenPoints] = OrderedDict()
        self._lock = Lock()

    def get(self, key: object) -> OpenPoints | None:
        with self._lock:
            return self._known.get(key)

    def keep(self, key: object, points: OpenPoints) -> None:
        with self._lock:
            self._known[key] = points
            while len(self._known) > MOST_REMEMBERED:
                self._known.popitem(last=False)


_MEMORY = Memory()


def of_setups(uow: UnitOfWork, setups: Sequence[SetupSummary]) -> dict[str, OpenPoints]:
    """Of those where some record was marked with what only a fold can confirm."""
    asked = [one for one in setups if FOLD_TELLS & set(one.flags)]
    chains = uow.questions.chains(one.last_seq for one in asked)
    verdicts: dict[str, list[tuple[str, str]]] = {}
    for sign in uow.signatures.of_setups(one.id for one in asked):
        verdicts.setdefault(sign.setup, []).append((sign.event, sign.verdict))
    steps_of = folding.steps_from(uow)
    found = {}
    for one in asked:
        key = (one.id, chains.get(one.last_seq), tuple(verdicts.get(one.id, ())))
        points = _MEMORY.get(key)
        if points is None:
            points = points_of(folding.load(uow, one.id, steps_of))
            _MEMORY.keep(key, points)
        found[one.id] = points
    return found


def points_of(folded: Folded) -> OpenPoints:
    steps = folded.setup.steps
    return OpenPoints(
        tuple(
            (step, tuple(status.answers))
            for step, status in steps.items()
            if status.state == "two answers"
        ),
        tuple(unsigned_additions(folded.setup)),
        _flags(folded),
    )


def _flags(folded: Folded) -> frozenset[str]:
    setup = folded.setup
    fits_nothing = {"fits nothing"} if setup.odd and setup.opened is not None else set()
    return frozenset({flag for _, flag in setup.flags} | fits_nothing) & FOLD_FLAGS
