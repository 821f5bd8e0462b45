"""Tables as files: CSV and JSON of exactly what a page shows, every value with its unit."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Mapping, Sequence
from typing import Any

from fastapi.responses import Response

FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r")


def csv_answer(rows: Sequence[Mapping[str, Any]], columns: Sequence[str], name: str) -> Response:
    """One line each under the column names; RFC 4180."""
    text = io.StringIO()
    writer = csv.DictWriter(text, fieldnames=list(columns), lineterminator="\r\n")
    writer.writeheader()
    writer.writerows({key: _cell(row.get(key)) for key in columns} for row in rows)
    return Response(
        text.getvalue(), media_type="text/csv; charset=utf-8", headers=_named(f"{name}.csv")
    )


def json_answer(document: Mapping[str, Any], name: str) -> Response:
    text = json.dumps(document, ensure_ascii=False, indent=1)
    return Response(text + "\n", media_type="application/json", headers=_named(f"{name}.json"))


def _cell(value: Any) -> str:
    """The value as text; words that a spreadsheet would run as a formula get an apostrophe."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, list | tuple):
        value = "; ".join(str(one) for one in value)
    text = str(value)
    return f"'{text}" if text.startswith(FORMULA_STARTS) and not _is_number(text) else text


def _is_number(text: str) -> bool:
    try:
        float(text)
    except ValueError:
        return False
    return True


def _named(name: str) -> dict[str, str]:
    safe = "".join(
        char if char.isalnum() or char in "-_." else "-" for char in name if char.isascii()
    )
    return {"Content-Disposition": f'attachment; filename="{safe}"', "Cache-Control": "no-store"}
