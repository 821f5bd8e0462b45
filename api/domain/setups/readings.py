"""Readings: first and second entries, rivals from another tablet, corrections."""

from __future__ import annotations

from typing import Any

from api.domain.events import Event, value_mm
from api.domain.setups.state import Reading, ReadingEntry, Setup


def out_of_limits(limits: dict[str, float] | None, reading_mm: float) -> bool:
    """True when the reading lies beyond its limits; the limits themselves still pass.

    Both are decimal values entered by people, so a difference under a nanometre is none.
    """
    if limits is None:
        return False
    return reading_mm < limits["low"] - 1e-6 or reading_mm > limits["high"] + 1e-6


def asks_second_entry(setup: Setup, event: Event) -> bool:
    """A first entry beyond the limits is kept and asks for a second, blind one."""
    return _entry(setup, event, event.data).out


def add(setup: Setup, event: Event, *, final: bool) -> None:
    """Keep the entry; `final` makes it the one that counts."""
    reading = _reading(setup, event.step or "", event.data)
    entry = _entry(setup, event, event.data)
    reading.entries.append(entry)
    if final:
        reading.final = entry


def correct(setup: Setup, step_id: str, event: Event) -> None:
    """A corrected value counts from now on; the earlier entries stay readable."""
    reading = setup.readings[step_id]
    unit = event.data.get("unit") or reading.entries[-1].unit
    data = {**event.data, "unit": unit, "entry": 2}
    entry = _entry(setup, event, data, step_id)
    entry.corrects = event.data["refers"]
    reading.entries.append(entry)
    reading.final = entry


def keep(setup: Setup, step_id: str, event_id: str) -> None:
    """Of two answers, let this one count."""
    reading = setup.readings.get(step_id)
    if reading is None:
        return
    reading.final = next((one for one in reading.entries if one.event == event_id), reading.final)


def _reading(setup: Setup, step_id: str, data: dict[str, Any]) -> Reading:
    fresh = Reading(step_id, data.get("point", ""), data.get("state", ""), [])
    return setup.readings.setdefault(step_id, fresh)


def _entry(
    setup: Setup, event: Event, data: dict[str, Any], step_id: str | None = None
) -> ReadingEntry:
    step = setup.step(step_id or event.step or "")
    reading_mm = value_mm(data["value"], data["unit"])
    out = out_of_limits(step["limits"], reading_mm)
    entry = int(data.get("entry", 2))
    return ReadingEntry(event.id, entry, data["value"], data["unit"], reading_mm, out)
