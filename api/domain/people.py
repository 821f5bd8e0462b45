"""People, as badges with a role, and what each role may do."""

from __future__ import annotations

from enum import StrEnum
from typing import Annotated

from pydantic import BaseModel, ConfigDict, StringConstraints

from api.domain.errors import NotAllowed

Badge = Annotated[str, StringConstraints(pattern=r"^[A-Za-z0-9][A-Za-z0-9-]{0,15}$")]


class Role(StrEnum):
    OPERATOR = "operator"
    LEAD = "lead"
    ENGINEER = "engineer"
    OWNER = "owner"
    AUDITOR = "auditor"


class Action(StrEnum):
    READ = "read the office pages"
    SIGN = "sign a setup"
    JUDGE = "judge a setup"
    EDIT_STORES = "edit the stores"
    EDIT_CREW = "edit the crew"
    HOLD_PLATE = "hold or free a plate"
    EDIT_DESIGNS = "load, release or withdraw a design"
    ADD_PLATE = "add a plate"
    ENROL_TABLET = "enrol, rename or revoke a tablet"
    SETTLE = "settle what is in doubt"
    ROTATE_KEY = "give the shop a new key for PINs"


_LEAD = frozenset(
    {
        Action.READ,
        Action.SIGN,
        Action.JUDGE,
        Action.EDIT_STORES,
        Action.EDIT_CREW,
        Action.HOLD_PLATE,
        Action.ADD_PLATE,
        Action.ENROL_TABLET,
        Action.SETTLE,
    }
)
_ENGINEER = frozenset(
    {Action.READ, Action.SIGN, Action.JUDGE, Action.EDIT_DESIGNS, Action.ADD_PLATE}
)

MAY: dict[Role, frozenset[Action]] = {
    Role.OPERATOR: frozenset({Action.READ, Action.SIGN}),
    Role.LEAD: _LEAD,
    Role.ENGINEER: _ENGINEER,
    Role.OWNER: frozenset(Action),
    Role.AUDITOR: frozenset({Action.READ}),
}


class Person(BaseModel):
    """One badge of the crew."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    badge: Badge
    role: Role
    active: bool = True


def may(person: Person | None, action: Action) -> bool:
    return person is not None and person.active and action in MAY[person.role]


def require(person: Person | None, action: Action) -> Person:
    """The person, if the role covers the action; raises `NotAllowed` otherwise."""
    if person is not None and may(person, action):
        return person
    who = "Nobody signed in" if person is None else f"{person.badge} ({person.role})"
    allowed = ", ".join(role for role, actions in MAY.items() if action in actions)
    raise NotAllowed(f"{who} may not {action}. Roles that may: {allowed}.")
