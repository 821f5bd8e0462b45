"""`clampbook check --report`: the page as one file, written whole or not at all."""

from __future__ import annotations

import contextlib
import datetime as dt
import os
from pathlib import Path

from api.domain.analyses.result import Result
from api.domain.designs import Design
from api.domain.designs.drawing import draw
from api.domain.designs.hashing import document_hash
from api.domain.stores import Stores
from api.paths import share
from api.pictures import findings_parts, report_page, report_parts
from api.pictures.page import with_fonts
from api.routes.office.formatting import day


class ReportError(Exception):
    """The report was not written; the message says why and what to do."""


def write_report(
    place: Path, file: Path, design: Design | None, result: Result, method: str, stores: Stores
) -> None:
    _replace(place, report_of(file, design, result, method, stores))


def report_of(
    file: Path, design: Design | None, result: Result, method: str, stores: Stores
) -> str:
    """The page; of a file that gave no design, its findings alone."""
    stamps = {"Date": day(dt.datetime.now().astimezone().date())} | (
        {"Method": method} if method else {}
    )
    if design is None:
        parts, title = findings_parts(result.checks), file.name
    else:
        parts, title = report_parts(result, design, draw(design, stores)), design.title
        stamps = {"Hash": document_hash(design.document)} | stamps
    return report_page(
        parts,
        code=design.code if design else "",
        revision=design.revision if design else "",
        title=title,
        stamps=stamps,
        css=_style_sheet(),
        templates=share("web/templates"),
    )


def _style_sheet() -> str:
    """The office's own, with its fonts inside."""
    built = share("web/dist")
    try:
        css = (built / "office.css").read_text(encoding="utf-8")
        return with_fonts(css, lambda name: (built / name).read_bytes())
    except OSError as error:
        raise ReportError(
            f"The report needs the built front end, and {error.filename} is missing. "
            "Run 'python web/build.py' in the checkout, or install Clampbook again."
        ) from None


def _replace(place: Path, text: str) -> None:
    """Write beside the place, then rename: a reader never sees half a report."""
    place = place.resolve()
    part = place.with_name(f".{place.name}.{os.getpid()}.part")
    try:
        if place.exists() and not place.is_file():
            raise OSError(None, "it is not a file")
        with contextlib.ExitStack() as undo:
            undo.callback(part.unlink, missing_ok=True)
            part.write_text(text, encoding="utf-8")
            part.replace(place)
    except OSError as error:
        raise ReportError(
            f"The report cannot be written to {place} ({error.strerror or error}). "
            "Name a file in a folder that exists and that you may write to."
        ) from None
