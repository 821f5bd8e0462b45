"""The shop before its first setup: stores, crew, designs and plates, through the use cases."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

from api.domain.errors import Clash, NotFound
from api.domain.people import Person, Role
from api.use_cases import analyses, crew, designs, plates
from api.use_cases import stores as store_use_cases
from api.use_cases.demo import stores
from api.use_cases.ports import Means, Progress, UnitOfWork
from api.use_cases.system import name_shop

SHOP_NAME = "Demonstration shop: astronomy mounts"
MAKER = Person(badge="SETUP", role=Role.OWNER)


def refuse_filled(uow: UnitOfWork) -> None:
    """The demonstration never mixes with a shop's own records."""
    if uow.events.head() or uow.people.all() or uow.plates.all() or uow.designs.all():
        raise Clash(
            "There are records in this shop already; the demonstration fills an empty one. "
            "Name another data folder."
        )


def found(
    uow: UnitOfWork, means: Means, folder: Path, today: dt.date, told: Progress = analyses.silent
) -> None:
    """Fills the registers as they were when the shop began; later changes come in their time."""
    name_shop(uow, SHOP_NAME)
    for one in stores.demo_people(folder):
        crew.save_person(uow, means, one.person, MAKER)
        crew.set_pin(uow, means, one.person.badge, one.pin, MAKER)
        crew.set_password(uow, means, one.person.badge, one.password, MAKER)
    owner, lead = who(uow, Role.OWNER), who(uow, Role.LEAD)
    for kind in stores.KINDS:
        for body in stores.items(folder, kind, today):
            store_use_cases.save_item(uow, means, kind, body, lead)
    for path in first_revisions(folder):
        load_and_release(uow, means, path, told)
    for plate in stores.demo_plates(folder):
        plates.add_plate(uow, plate.serial, plate.design, owner, plate.note)


def first_revisions(folder: Path) -> list[Path]:
    """The oldest file of every design."""
    firsts: dict[str, Path] = {}
    for path in stores.demo_designs(folder):
        firsts.setdefault(design_of(path), path)
    return list(firsts.values())


def later_revisions(folder: Path) -> list[Path]:
    firsts = first_revisions(folder)
    return [path for path in stores.demo_designs(folder) if path not in firsts]


def load_and_release(
    uow: UnitOfWork, means: Means, path: Path, told: Progress = analyses.silent
) -> None:
    """Puts a design file on the bench, as its engineer would."""
    engineer = who(uow, Role.ENGINEER)
    loaded = designs.load_design(uow, means, path.read_bytes(), engineer, path.name)
    if loaded.revision is None:
        raise Clash(f"{path.name} cannot be loaded: {loaded.findings[0]}")
    code, revision = loaded.revision.code, loaded.revision.revision
    job = analyses.take(uow, means, code, revision)
    if job is not None:
        analyses.carry_out(
            uow, means, job, lambda words, share: told(f"{path.stem}, {words}", share)
        )
    designs.release_revision(uow, means, code, revision, engineer)


def withdraw_older(uow: UnitOfWork, means: Means, path: Path) -> None:
    """Takes the revisions before the one in the file out of use."""
    engineer, newest = who(uow, Role.ENGINEER), path.stem
    for one in designs.get_design(uow, design_of(path)).revisions:
        if one.state == "released" and f"{one.code}-{one.revision}" < newest:
            designs.withdraw_revision(uow, means, one.code, one.revision, engineer)


def design_of(path: Path) -> str:
    """`SAD-20-B.toml` holds a revision of `SAD-20`."""
    return path.stem.rpartition("-")[0]


def who(uow: UnitOfWork, role: Role) -> Person:
    """The first person of a role."""
    person = next((one for one in uow.people.all() if one.role is role), None)
    if person is None:
        raise NotFound(f"The demonstration's people.json names no {role}.")
    return person
