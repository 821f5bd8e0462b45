"""Readings of one point over time: a chart, the same as a table, CSV and JSON."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from fastapi import APIRouter
from fastapi.responses import Response
from markupsafe import Markup

from api.domain.days import day_of
from api.domain.designs.document import STATES
from api.domain.errors import BadInput
from api.domain.records import PointReading
from api.routes.office import asking
from api.routes.office.desk import Desk, DeskDep
from api.routes.office.formatting import count, iso, moment, number, unit
from api.routes.office.forms import Form
from api.routes.office.logbook.chart import Chart, Dot, draw, usual_band
from api.routes.office.tables import csv_answer, json_answer
from api.use_cases import designs, plates, setups
from api.use_cases.designs import DesignInfo

router = APIRouter()
NAMES = ("plate", "design", "point", "state", "since", "until")
Limits = tuple[float, float]
COLUMNS = (
    "setup",
    "plate",
    "point",
    "state",
    "taken_at_utc",
    "reading_mm",
    "entered",
    "entered_unit",
    "low_limit_mm",
    "high_limit_mm",
    "within",
    "person",
    "indicator",
    "source",
    "event",
)


@dataclass(frozen=True)
class Row:
    row: PointReading
    out: bool | None


@dataclass(frozen=True)
class Options:
    plates: list[tuple[str, str]]
    designs: list[tuple[str, str]]
    points: list[tuple[str, str]]
    states: list[tuple[str, str]]


@dataclass(frozen=True)
class Series:
    """What was asked and the readings that answer it, oldest first."""

    form: Form
    options: Options
    rows: list[Row]
    bounds: Limits | None

    @property
    def heading(self) -> str:
        values = self.form.values
        if not self.form.fine or not values.get("point") or not values.get("state"):
            return ""
        whose = values.get("plate") or values.get("design") or ""
        return f"point {values['point']}, {values['state']}, {whose}"


@router.get("/readings")
def readings_page(desk: DeskDep) -> Response:
    series = _series(desk, desk.request.query_params)
    return desk.show(
        "logbook/readings.html",
        "Logbook",
        200 if series.form.fine else 400,
        form=series.form,
        options=series.options,
        heading=series.heading,
        rows=list(reversed(series.rows)),
        chart=Markup(draw(_chart(series))),  # noqa: S704 - every text in it is escaped
        says=_says(series),
        query=asking.query_of(series.form.values),
    )


@router.get("/readings.csv")
def readings_csv(desk: DeskDep) -> Response:
    return csv_answer(_rows(_fine(desk)), COLUMNS, "readings")


@router.get("/readings.json")
def readings_json(desk: DeskDep) -> Response:
    series = _fine(desk)
    return json_answer({"asked": series.form.values, "readings": _rows(series)}, "readings")


def _fine(desk: Desk) -> Series:
    series = _series(desk, desk.request.query_params)
    for name, message in series.form.problems.items():
        raise BadInput(message, field=name)
    if not series.heading:
        raise BadInput("Name a point, a state, and a plate or a design.", field="point")
    return series


def _series(desk: Desk, query: Mapping[str, str]) -> Series:
    form = asking.ask(query, NAMES)
    since, until = asking.dates_of(form)
    known = designs.list_designs(desk.uow)
    serials = [one.serial for one in plates.list_plates(desk.uow)]
    plate = asking.choice_of(form, "plate", serials)
    code = asking.choice_of(form, "design", [one.code for one in known])
    state = asking.choice_of(form, "state", STATES)
    point = form.text("point")
    options = _options(known, serials, plate, code)
    if not (form.fine and point and state and (plate or code)):
        return Series(form, options, [], None)
    wanted = [plate] if plate else next(one.plates for one in known if one.code == code)
    found = [
        one for serial in wanted for one in setups.point_series(desk.uow, serial, point, state)
    ]
    found = [one for one in found if _inside(one.at, since, until)]
    bounds = _bounds(known, wanted, point, state)
    rows = [Row(one, _out(one.value_mm, bounds)) for one in sorted(found, key=lambda one: one.at)]
    return Series(form, options, rows, bounds)


def _inside(at: dt.datetime, since: dt.date | None, until: dt.date | None) -> bool:
    on = day_of(at)
    return (since is None or since <= on) and (until is None or on <= until)


def _out(value_mm: float, bounds: Limits | None) -> bool | None:
    """Beyond the limits by more than a nanometre, the rule that the bench judges by."""
    if bounds is None:
        return None
    return value_mm < bounds[0] - 1e-6 or value_mm > bounds[1] + 1e-6


def _bounds(known: list[DesignInfo], serials: list[str], point: str, state: str) -> Limits | None:
    """The limits of the newest released revision, in the state in which the point is judged."""
    for design in known:
        if not set(serials) & set(design.plates):
            continue
        newest = next((one for one in design.revisions if one.revision == design.newest), None)
        for one in (newest.sheet or {}).get("points", []) if newest else []:
            if one["id"] == point and one["read"] == state:
                return float(one["low_mm"]), float(one["high_mm"])
    return None


def _options(
    known: list[DesignInfo], serials: list[str], plate: str | None, code: str | None
) -> Options:
    near = [one for one in known if (plate in one.plates if plate else code in (None, one.code))]
    sheets = [revision.sheet for one in near for revision in one.revisions if revision.sheet]
    points = sorted({point["id"] for sheet in sheets for point in sheet["points"]})
    return Options(
        plates=[("", "all of the design"), *((one, one) for one in serials)],
        designs=[("", "any"), *((one.code, one.code) for one in known)],
        points=[("", "choose"), *((one, one) for one in points)],
        states=[("", "choose"), *((one, one) for one in STATES)],
    )


def _chart(series: Series) -> Chart:
    low, high = series.bounds or (None, None)
    return Chart(
        [_dot(one) for one in series.rows], low, high, f"Readings of {series.heading}, in mm"
    )


def _dot(one: Row) -> Dot:
    row = one.row
    judged = {None: "", True: ", out of limits", False: ", within limits"}[one.out]
    label = f"{moment(row.at)}, plate {row.plate}: {number(row.value_mm, 4)} mm{judged}"
    return Dot(row.at, row.value_mm, label, f"/setups/{row.setup}", out=bool(one.out))


def _says(series: Series) -> str:
    """What the drawing shows, in a sentence for those who do not see it."""
    if not series.rows:
        return ""
    values = [one.row.value_mm for one in series.rows]
    outs = sum(bool(one.out) for one in series.rows)
    parts = [
        f"{count(len(values), 'reading')}, {number(min(values), 4)} to {number(max(values), 4)} mm"
    ]
    if series.bounds:
        parts.append(
            f"{outs} out of the limits {number(series.bounds[0])} to {number(series.bounds[1])} mm"
        )
    if usual_band([_dot(one) for one in series.rows]):
        parts.append("the blue band holds the middle 90 % of them, the blue line is their median")
    return "; ".join(parts) + "."


def _rows(series: Series) -> list[dict[str, Any]]:
    """Newest first, as in the table of the page."""
    low, high = series.bounds or (None, None)
    return [
        {
            "setup": one.row.setup,
            "plate": one.row.plate,
            "point": one.row.point,
            "state": one.row.state,
            "taken_at_utc": iso(one.row.at),
            "reading_mm": one.row.value_mm,
            "entered": one.row.value,
            "entered_unit": unit(one.row.unit),
            "low_limit_mm": low,
            "high_limit_mm": high,
            "within": None if one.out is None else not one.out,
            "person": one.row.person,
            "indicator": one.row.indicator,
            "source": one.row.source,
            "event": one.row.event,
        }
        for one in reversed(series.rows)
    ]
