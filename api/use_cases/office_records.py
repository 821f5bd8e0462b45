"""What a lead adds to a setup from the desk: a note, a corrected reading, a step opened again, its end."""

from __future__ import annotations

import re
from typing import Any

from api.domain.errors import BadInput, Clash, NotFound
from api.domain.people import Action, Person, require
from api.domain.setups.current import OVER
from api.use_cases import office_log
from api.use_cases.ports import Means, UnitOfWork
from api.use_cases.ports.office import OfficePen
from api.use_cases.records import folding
from api.use_cases.records.folding import Folded

LONGEST_NOTE = 2000
NUMBER = re.compile(r"[+-]?[0-9]{1,6}(\.[0-9]{1,6})?")
UNITS = ("mm", "in")


def add_note(
    uow: UnitOfWork, means: Means, pen: OfficePen, setup: str, text: str, by: Person
) -> None:
    text = text.strip()
    if not 1 <= len(text) <= LONGEST_NOTE:
        raise BadInput(f"Write the note in 1 to {LONGEST_NOTE} characters.", field="text")
    _add(uow, means, pen, setup, "note", {"text": text}, by)


def correct_reading(
    uow: UnitOfWork,
    means: Means,
    pen: OfficePen,
    setup: str,
    refers: str,
    value: str,
    unit: str,
    reason: str,
    by: Person,
) -> None:
    """The first value stays readable; the corrected one counts from now on."""
    value = value.strip().replace(",", ".").replace("\u2212", "-")
    if not NUMBER.fullmatch(value):
        raise BadInput("Enter a number, with a point for decimals: 0.045.", field="value")
    if unit not in UNITS:
        raise BadInput(f"Choose {' or '.join(UNITS)}.", field="unit")
    data = {"refers": refers, "value": value, "unit": unit, "reason": reason}
    _add(uow, means, pen, setup, "correction", data, by)


def open_step(
    uow: UnitOfWork, means: Means, pen: OfficePen, setup: str, refers: str, reason: str, by: Person
) -> None:
    """A step that was ticked by mistake is to do again; its record stays."""
    data = {"refers": refers, "undo": True, "reason": reason}
    _add(uow, means, pen, setup, "correction", data, by)


def abandon(
    uow: UnitOfWork, means: Means, pen: OfficePen, setup: str, reason: str, by: Person
) -> None:
    """Ends a setup that nobody will finish; its plate is free then."""
    require(by, Action.SETTLE)
    with uow:
        uow.events.lock()
        folded = _folded(uow, setup)
        if folded.setup.phase in OVER:
            raise Clash(f"This setup is {folded.setup.phase} already.")
        office_log.write(uow, means, pen, by, setup, "abandoned", {"reason": reason})
        uow.commit()


def _add(
    uow: UnitOfWork,
    means: Means,
    pen: OfficePen,
    setup: str,
    kind: str,
    data: dict[str, Any],
    by: Person,
) -> None:
    """As the bench does it: after a signature everything is an addition, which asks for another."""
    require(by, Action.SETTLE)
    with uow:
        uow.events.lock()
        folded = _folded(uow, setup)
        if kind == "correction":
            _check(folded, data)
        if folded.setup.valid_signatures:
            kind, data = "after-signature addition", {"adds": kind, **data}
        office_log.write(uow, means, pen, by, setup, kind, data)
        uow.commit()


def _folded(uow: UnitOfWork, setup: str) -> Folded:
    folded = folding.load(uow, setup, folding.steps_from(uow))
    if not folded.stored:
        raise NotFound(f"There is no setup {setup[:40]!r}.", setup=setup[:40])
    if folded.setup.opened is None:
        raise Clash("The record that opens this setup has not arrived; nothing can be added yet.")
    return folded


def _check(folded: Folded, data: dict[str, Any]) -> None:
    """Refuses what the setup could not follow, and what would change nothing."""
    setup, refers = folded.setup, data["refers"]
    step = setup.step_of_event.get(refers)
    if data.get("undo"):
        if setup.phase in OVER:
            raise Clash(f"This setup is {setup.phase}; no step of it opens again.")
        if step is None or step == "sign" or setup.steps[step].undone:
            raise BadInput("Choose a step that is done.", field="refers")
        return
    reading = setup.readings.get(step or "")
    if reading is None or reading.final is None:
        raise BadInput("Choose the reading that is to be corrected.", field="refers")
    if (reading.final.value, reading.final.unit) == (data["value"], data["unit"]):
        raise BadInput("This is the value that counts already.", field="value")
