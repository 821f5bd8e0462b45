"""Reading the questions in an address: dates, page numbers, choices; and links that keep them."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any
from urllib.parse import urlencode

from api.domain.errors import BadInput
from api.domain.records import Page
from api.routes.office.forms import Form

MOST_PAGES = 100_000


def ask(query: Mapping[str, str], names: Iterable[str]) -> Form:
    """The named questions as typed, trimmed; all others are left alone."""
    form = Form({name: query[name].strip() for name in names if query.get(name, "").strip()})
    for name, value in form.values.items():
        if len(value) > 100 or not value.isprintable():
            form.refuse(name, f"'{name}' holds something that no list offers.")
    return form


def date_of(form: Form, name: str, label: str) -> dt.date | None:
    text = form.text(name)
    if not text:
        return None
    try:
        found = dt.date.fromisoformat(text)
    except ValueError:
        form.refuse(
            name, f"{label}: '{text[:40]}' is not a date. Write year-month-day, 2026-11-24."
        )
        return None
    if not 1970 <= found.year <= 2200:
        form.refuse(name, f"{label}: the year {found.year} cannot be meant.")
    return found


def dates_of(form: Form) -> tuple[dt.date | None, dt.date | None]:
    since, until = date_of(form, "since", "From"), date_of(form, "until", "To")
    if since and until and since > until:
        form.refuse("until", "The last day lies before the first. Swap them.")
    return since, until


def choice_of(form: Form, name: str, known: Iterable[str]) -> str | None:
    """One of the known words; anything else is refused by name."""
    text = form.text(name)
    if not text:
        return None
    words = list(known)
    if text not in words:
        form.refuse(name, f"'{text[:40]}' is not one of: {', '.join(words)}.")
        return None
    return text


def page_of(query: Mapping[str, str]) -> int:
    text = query.get("page", "1")
    if not (text.isascii() and text.isdigit() and 1 <= int(text[:9]) <= MOST_PAGES):
        raise BadInput(f"'{text[:20]}' is not a page number. Pages count from 1.", field="page")
    return int(text[:9])


def query_of(values: Mapping[str, Any]) -> str:
    """?a=1&b=2 with what is set, or nothing."""
    kept = {name: value for name, value in values.items() if value not in (None, "", 1)}
    return f"?{urlencode(kept)}" if kept else ""


@dataclass(frozen=True)
class PageLinks:
    says: str
    before: str | None
    after: str | None


def links(found: Page[Any], path: str, values: Mapping[str, Any], noun: str) -> PageLinks:
    """What part of the list this is, and the ways to the parts beside it."""
    first = (found.page - 1) * found.per_page + 1
    last = first + len(found.items) - 1
    many = noun if found.total == 1 else f"{noun}s"
    says = (
        f"{first} to {last} of {found.total} {many}"
        if found.items
        else f"0 of {found.total} {many}"
    )
    at = {name: value for name, value in values.items() if name != "page"}
    before = f"{path}{query_of({**at, 'page': found.page - 1})}" if found.page > 1 else None
    after = (
        f"{path}{query_of({**at, 'page': found.page + 1})}" if found.page < found.pages else None
    )
    return PageLinks(says, before, after)


def refuse_empty_page(found: Page[Any]) -> None:
    """A page number beyond the last one is a mistake, not an empty list."""
    if found.page > found.pages:
        raise BadInput(
            f"There is no page {found.page}; the last one is {found.pages}.", field="page"
        )
