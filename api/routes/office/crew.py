"""The crew's screens: people with their roles and secrets, and the tablets seen."""

from __future__ import annotations

from fastapi import APIRouter
from fastapi.responses import Response
from pydantic import ValidationError

from api.domain.errors import BadInput, NotAllowed, NotFound
from api.domain.people import Action, Person, Role, may, require
from api.routes.office.desk import Desk, DeskDep, Posted
from api.routes.office.forms import Form
from api.use_cases import crew, keys, tablets

router = APIRouter()
ROLE_WORDS = {
    Role.OPERATOR: "works at the bench and signs there",
    Role.LEAD: "keeps stores and crew, holds and frees plates",
    Role.ENGINEER: "loads, releases and withdraws designs, adds plates",
    Role.OWNER: "all that lead and engineer may",
    Role.AUDITOR: "reads everything",
}
ROLES = [(role.value, f"{role.value}: {words}") for role, words in ROLE_WORDS.items()]


@router.get("/crew")
def people(desk: DeskDep) -> Response:
    members = crew.list_people(desk.uow)
    return desk.show(
        "crew/list.html",
        "Crew",
        members=members,
        open_to={one.badge for one in members if _may_open(desk.person, one)},
        tablets=tablets.list_tablets(desk.uow, desk.person),
        key=keys.sealing_key(desk.uow, desk.means),
        role_words=ROLE_WORDS,
    )


@router.get("/add-person")
def add_page(desk: DeskDep) -> Response:
    require(desk.person, Action.EDIT_CREW)
    return desk.show("crew/add.html", "Crew", form=Form(), roles=ROLES)


@router.post("/add-person")
def add(desk: DeskDep, form: Posted) -> Response:
    require(desk.person, Action.EDIT_CREW)
    badge = form.text("badge")
    if any(one.badge == badge for one in crew.list_people(desk.uow)):
        form.refuse("badge", f"There is a badge {badge} already.")
    person = _person(badge, form)
    if person is None or not form.fine:
        return desk.show("crew/add.html", "Crew", 422, form=form, roles=ROLES)
    crew.save_person(desk.uow, desk.means, person, desk.person)
    return desk.go(f"/crew/{badge}", f"{badge} is in the crew. Set a PIN so that {badge} can sign.")


@router.get("/crew/{badge}")
def person_page(desk: DeskDep, badge: str) -> Response:
    return _show(desk, _own_or_lead(desk, badge), Form())


@router.post("/crew/{badge}/role")
def set_role(desk: DeskDep, badge: str, form: Posted) -> Response:
    member = _own_or_lead(desk, badge)
    person = _person(badge, form, active=member.active)
    if person is None:
        return _show(desk, member, form, 422)
    crew.save_person(desk.uow, desk.means, person, desk.person)
    return desk.go(f"/crew/{badge}", f"{badge} is now {person.role}.")


@router.post("/crew/{badge}/deactivate")
def deactivate(desk: DeskDep, badge: str, form: Posted) -> Response:
    member = _own_or_lead(desk, badge)
    crew.save_person(
        desk.uow, desk.means, Person(badge=badge, role=member.role, active=False), desk.person
    )
    return desk.go(f"/crew/{badge}", f"{badge} is no longer active.")


@router.post("/crew/{badge}/activate")
def activate(desk: DeskDep, badge: str, form: Posted) -> Response:
    member = _own_or_lead(desk, badge)
    crew.save_person(
        desk.uow, desk.means, Person(badge=badge, role=member.role, active=True), desk.person
    )
    return desk.go(f"/crew/{badge}", f"{badge} is active again.")


@router.post("/crew/{badge}/pin")
def set_pin(desk: DeskDep, badge: str, form: Posted) -> Response:
    member = _own_or_lead(desk, badge)
    if not confirmed(desk, form, "pin_yours"):
        return _show(desk, member, form, 422)
    try:
        crew.set_pin(desk.uow, desk.means, badge, form.values.get("pin", ""), desk.person)
    except BadInput as problem:
        form.refuse("pin", problem.message)
        return _show(desk, member, form, 422)
    return desk.go(f"/crew/{badge}", f"The PIN of {badge} is set.")


@router.post("/crew/{badge}/password")
def set_password(desk: DeskDep, badge: str, form: Posted) -> Response:
    member = _own_or_lead(desk, badge)
    if not confirmed(desk, form, "password_yours"):
        return _show(desk, member, form, 422)
    try:
        crew.set_password(desk.uow, desk.means, badge, form.values.get("password", ""), desk.person)
    except BadInput as problem:
        form.refuse("password", problem.message)
        return _show(desk, member, form, 422)
    return desk.go(
        f"/crew/{badge}", f"The office password of {badge} is set; open sessions have ended."
    )


@router.post("/crew/{badge}/end-sessions")
def end_sessions(desk: DeskDep, badge: str, form: Posted) -> Response:
    member = _own_or_lead(desk, badge)
    if not confirmed(desk, form, "sessions_yours"):
        return _show(desk, member, form, 422)
    own = badge == desk.person.badge
    crew.end_sessions(desk.uow, desk.means, badge, desk.person, but=desk.token if own else None)
    return desk.go(
        f"/crew/{badge}", f"{'The other' if own else 'All'} sessions of {badge} have ended."
    )


def confirmed(desk: Desk, form: Form, name: str) -> bool:
    """Whether the person at the desk gave the own password; a desk left open is not enough."""
    try:
        crew.confirm(desk.uow, desk.means, desk.person, form.values.get(name, ""))
    except BadInput as problem:
        form.refuse(name, problem.message)
    return form.fine


def _person(badge: str, form: Form, *, active: bool = True) -> Person | None:
    try:
        return Person.model_validate({"badge": badge, "role": form.text("role"), "active": active})
    except ValidationError as problem:
        form.refuse_all(problem)
        return None


def _own_or_lead(desk: Desk, badge: str) -> crew.CrewMember:
    if badge != desk.person.badge:
        require(desk.person, Action.EDIT_CREW)
    found = next((one for one in crew.list_people(desk.uow) if one.badge == badge), None)
    if found is None:
        raise NotFound(f"There is no badge '{badge[:40]}' in the crew.", badge=badge[:40])
    if not _may_open(desk.person, found):
        raise NotAllowed("Only an owner may change an owner.")
    return found


def _may_open(person: Person, member: crew.CrewMember) -> bool:
    """Oneself, and for who keeps the crew all others; owners only for owners."""
    if member.badge == person.badge:
        return True
    guarded = member.role is Role.OWNER and person.role is not Role.OWNER
    return may(person, Action.EDIT_CREW) and not guarded


def _show(desk: Desk, member: crew.CrewMember, form: Form, status: int = 200) -> Response:
    form.values.setdefault("role", member.role)
    return desk.show(
        "crew/person.html",
        "Crew",
        status,
        member=member,
        sessions=len(crew.open_sessions(desk.uow, desk.means, member.badge)),
        form=form,
        roles=ROLES,
        role_words=ROLE_WORDS,
    )
