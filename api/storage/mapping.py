"""From rows to domain values and back; both sides name their fields alike."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterable
from typing import Any, TypeVar

from sqlalchemy import Table
from sqlmodel import Session, SQLModel

from api.domain.records import SetupSummary

LOOKUP = 500
Value = TypeVar("Value")
Row = TypeVar("Row", bound=SQLModel)


def to_value(kind: type[Value], row: SQLModel) -> Value:
    """The dataclass or model `kind` with the row's columns of the same names."""
    return kind(**{name: getattr(row, name) for name in _fields(kind)})


def to_summary(row: SQLModel) -> SetupSummary:
    fields = {name: getattr(row, name) for name in _fields(SetupSummary)}
    return SetupSummary(**{**fields, "troubles": tuple(row.troubles), "flags": tuple(row.flags)})  # type: ignore[attr-defined]


def to_row(kind: type[Row], value: Any, **more: Any) -> Row:
    """A row of table `kind` with the value's fields; `more` fills or replaces columns."""
    columns = {name: getattr(value, name) for name in _fields(type(value))}
    return kind(**{name: _plain(content) for name, content in {**columns, **more}.items()})


def table_of(kind: type[SQLModel]) -> Table:
    """The table behind a row class, for statements that are run thousands of times."""
    return kind.__table__  # type: ignore[attr-defined,no-any-return]


def put(session: Session, row: SQLModel) -> None:
    """Insert the row, or replace the one with its key."""
    session.merge(row)
    session.flush()


def parts(keys: Iterable[Value]) -> list[list[Value]]:
    """The keys in lists short enough for one query of either engine."""
    wanted = list(keys)
    return [wanted[start : start + LOOKUP] for start in range(0, len(wanted), LOOKUP)]


def _fields(kind: type[Any]) -> list[str]:
    if dataclasses.is_dataclass(kind):
        return [field.name for field in dataclasses.fields(kind)]
    return list(kind.model_fields)


def _plain(content: Any) -> Any:
    return list(content) if isinstance(content, tuple) else content
