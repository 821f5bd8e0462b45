"""Physical plates: the state each is in, what is due, and what its history says is usual."""

from __future__ import annotations

import datetime as dt
import re
from collections import defaultdict
from dataclasses import dataclass, field
from statistics import median
from typing import Any

from api.domain.errors import BadInput, Clash, NotFound
from api.domain.people import Action, Person, require
from api.domain.plates import Plate, PlateState, plate_state
from api.domain.records import Hold, SetupSummary
from api.use_cases.ports import Means, UnitOfWork

USUAL_OVER = 30
SERIAL = re.compile(r"[A-Za-z0-9][A-Za-z0-9-]{0,31}")


@dataclass(frozen=True, slots=True)
class OpenSetup:
    """A half-done setup: who did the last step of it, where and when."""

    id: str
    badge: str | None
    tablet: str
    step: str | None
    at: dt.datetime


@dataclass(frozen=True, slots=True)
class Usual:
    """The median of a point's final readings in one state, and how many there are."""

    median_mm: float
    n: int


@dataclass(frozen=True, slots=True)
class OpenTrouble:
    event: str
    setup: str
    what: str
    clamp: str | None
    step: str | None


@dataclass(frozen=True, slots=True)
class PlateInfo:
    serial: str
    design: str
    revision: str | None
    state: PlateState
    since: dt.datetime | None
    reason: str | None
    open_setup: OpenSetup | None
    setups_since_grease: int
    setups_since_baseline: int
    usual: dict[str, Usual] = field(default_factory=dict)
    open_troubles: list[OpenTrouble] = field(default_factory=list)
    last_setup: str | None = None
    note: str = ""


def list_plates(uow: UnitOfWork) -> list[PlateInfo]:
    with uow:
        return plate_infos(uow)


def get_plate(uow: UnitOfWork, serial: str) -> PlateInfo:
    with uow:
        return _info(uow, _plate(uow, serial), newest_released(uow))


def plate_holds(uow: UnitOfWork, serial: str) -> list[Hold]:
    """Every hold of the plate, newest first."""
    with uow:
        _plate(uow, serial)
        return uow.plates.holds(serial)


def add_plate(uow: UnitOfWork, serial: str, design: str, by: Person, note: str = "") -> Plate:
    require(by, Action.ADD_PLATE)
    if not SERIAL.fullmatch(serial):
        raise BadInput("A plate's serial has 1 to 32 letters, digits or hyphens.", field="serial")
    plate = Plate(serial=serial, design=design, note=note[:500])
    with uow:
        uow.shop.bump()
        if uow.plates.get(serial) is not None:
            raise Clash(f"There is a plate {serial} already.", field="serial")
        if not any(one.code == design for one in uow.designs.all()):
            raise NotFound(f"There is no design {design!r}; load its file first.", field="design")
        uow.plates.save(plate)
        uow.commit()
    return plate


def hold_plate(uow: UnitOfWork, means: Means, serial: str, reason: str, by: Person) -> Plate:
    """Takes a plate out of use until it is freed, with a reason that the bench shows."""
    require(by, Action.HOLD_PLATE)
    reason = reason.strip()
    if not 3 <= len(reason) <= 500:
        raise BadInput("Say in 3 to 500 characters why the plate is held.", field="reason")
    with uow:
        uow.shop.bump()
        plate = _plate(uow, serial)
        if plate.held is not None:
            raise Clash(f"Plate {serial} is held already: {plate.held}.", plate=serial)
        held = plate.model_copy(update={"held": reason})
        uow.plates.save(held)
        uow.plates.add_hold(Hold(serial, reason, by.badge, means.clock.now()))
        uow.commit()
    return held


def free_plate(uow: UnitOfWork, means: Means, serial: str, by: Person) -> Plate:
    """Ends a hold, and clears the plate of a rejected setup."""
    require(by, Action.HOLD_PLATE)
    with uow:
        uow.shop.bump()
        plate = _plate(uow, serial)
        last = _last(uow.setups.of_plate(serial))
        rejected = last is not None and last.phase == "rejected" and plate.cleared != last.id
        if plate.held is None and not rejected:
            raise Clash(f"Plate {serial} is not held.", plate=serial)
        freed = plate.model_copy(
            update={"held": None, "cleared": last.id if last and rejected else plate.cleared}
        )
        uow.plates.save(freed)
        uow.plates.end_hold(serial, by.badge, means.clock.now())
        uow.commit()
    return freed


def plate_infos(uow: UnitOfWork) -> list[PlateInfo]:
    """All plates; inside the caller's transaction."""
    released = newest_released(uow)
    return [_info(uow, plate, released) for plate in uow.plates.all()]


def newest_released(uow: UnitOfWork) -> dict[str, str]:
    """Design code to the released revision that was released last."""
    released = [one for one in uow.designs.all() if one.state == "released" and one.released_at]
    released.sort(key=lambda one: one.released_at or one.loaded_at)
    return {one.code: one.revision for one in released}


def _plate(uow: UnitOfWork, serial: str) -> Plate:
    plate = uow.plates.get(serial)
    if plate is None:
        raise NotFound(f"There is no plate {serial!r}.", plate=serial)
    return plate


def _last(setups: list[SetupSummary]) -> SetupSummary | None:
    kept = [one for one in setups if one.phase != "abandoned"]
    return kept[-1] if kept else None


def _info(uow: UnitOfWork, plate: Plate, released: dict[str, str]) -> PlateInfo:
    setups = uow.setups.of_plate(plate.serial)
    last = _last(setups)
    cleared = last is not None and plate.cleared == last.id
    state = plate_state(plate.held, last.phase if last else None, cleared=cleared)
    reason, since = _why(uow, plate, last, state)
    return PlateInfo(
        serial=plate.serial,
        design=plate.design,
        revision=released.get(plate.design),
        state=state,
        since=since,
        reason=reason,
        open_setup=_open(last),
        setups_since_grease=_since([one.greased for one in setups]),
        setups_since_baseline=_since([one.baseline for one in setups]),
        usual=_usual(uow, setups),
        open_troubles=[
            OpenTrouble(setup=one.id, **trouble)
            for one in setups[-5:]
            for trouble in _troubles(one)
        ],
        last_setup=setups[-1].id if setups else None,
        note=plate.note,
    )


def _why(
    uow: UnitOfWork, plate: Plate, last: SetupSummary | None, state: PlateState
) -> tuple[str | None, dt.datetime | None]:
    if plate.held is not None:
        holds = uow.plates.holds(plate.serial)
        return plate.held, holds[0].at if holds else None
    if last is None:
        return None, None
    return ("the last setup was rejected" if state == "held" else None), last.last_at


def _open(last: SetupSummary | None) -> OpenSetup | None:
    if last is None or last.phase != "working":
        return None
    return OpenSetup(last.id, last.person, last.tablet, last.step, last.last_at)


def _since(done: list[bool]) -> int:
    """How many setups lie after the last one in which it was done (all, if it never was)."""
    return next((count for count, one in enumerate(reversed(done)) if one), len(done))


def _usual(uow: UnitOfWork, setups: list[SetupSummary]) -> dict[str, Usual]:
    values: dict[str, list[float]] = defaultdict(list)
    for reading in uow.setups.readings_of(one.id for one in setups[-USUAL_OVER:]):
        if reading.final:
            values[f"{reading.point}/{reading.state}"].append(reading.value_mm)
    return {
        key: Usual(round(median(found), 6), len(found)) for key, found in sorted(values.items())
    }


def _troubles(setup: SetupSummary) -> list[dict[str, Any]]:
    return [] if setup.phase == "abandoned" else list(setup.troubles)
