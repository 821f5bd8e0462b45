"""The server's log: one line for one thing, as text or as JSON, without anything secret.

Bodies, queries, cookies, codes and tokens never come here. Of a failure its place is told, and its
message only where it is ours or the system's: others may quote what somebody sent.
"""

from __future__ import annotations

import datetime as dt
import json
import logging
import re
import sys
import traceback
from pathlib import Path
from typing import Any, Literal, TextIO

from sqlalchemy.exc import SQLAlchemyError

from api.domain.errors import ClampbookError

CONTROL = re.compile("[\x00-\x1f\x7f-\x9f\u2028\u2029]")
LONGEST_CHARS = 500
MOST_FRAMES = 40
TELLING = (ClampbookError, OSError, SQLAlchemyError)
QUIET = ("uvicorn", "uvicorn.error", "uvicorn.asgi", "asyncio", "sqlalchemy", "alembic")
# The web server repeats what the request's own line has told already.
REPEATED = "Exception in ASGI application"


def install(form: Literal["text", "json"], stream: TextIO | None = None) -> logging.Handler:
    """Has everything logged in this process go to `stream`, standard error if none is given."""
    handler = logging.StreamHandler(stream or sys.stderr)
    handler.setFormatter(JsonLine() if form == "json" else TextLine())
    handler.addFilter(lambda record: not record.getMessage().startswith(REPEATED))
    root = logging.getLogger()
    root.handlers = [handler]
    root.setLevel(logging.INFO)
    for name in QUIET:
        logger = logging.getLogger(name)
        logger.handlers, logger.propagate = [], True
        logger.setLevel(logging.WARNING)
    return handler


class JsonLine(logging.Formatter):
    def format(self, record: logging.LogRecord) -> str:
        return json.dumps(facts_of(record), ensure_ascii=True, default=str)


class TextLine(logging.Formatter):
    def format(self, record: logging.LogRecord) -> str:
        facts = facts_of(record)
        head = f"{facts.pop('time')} {facts.pop('level'):7} {facts.pop('event')}"
        return escaped(" ".join([head, *(f"{name}={_word(one)}" for name, one in facts.items())]))


def facts_of(record: logging.LogRecord) -> dict[str, Any]:
    """What a line says; facts without a value are left out."""
    at = dt.datetime.fromtimestamp(record.created, dt.UTC)
    facts: dict[str, Any] = {
        "time": f"{at:%Y-%m-%dT%H:%M:%S}.{at.microsecond // 1000:03d}Z",
        "level": record.levelname.lower(),
        "event": record.getMessage()[:LONGEST_CHARS],
        "from": record.name,
    }
    more: dict[str, Any] = getattr(record, "facts", {})
    facts |= {name: value for name, value in more.items() if value is not None}
    if record.exc_info and record.exc_info[1] is not None:
        facts |= failure(record.exc_info[1])
    return facts


def failure(error: BaseException) -> dict[str, Any]:
    """Kind and place of an error, and of what led to it."""
    kind, places = type(error).__qualname__, _places(error)
    cause = error.__cause__ or (None if error.__suppress_context__ else error.__context__)
    while cause is not None and len(places) < MOST_FRAMES:
        kind += f" from {type(cause).__qualname__}"
        places = [*_places(cause), *places]
        cause = cause.__cause__ or cause.__context__
    told = {"error": kind, "trace": places[-MOST_FRAMES:]}
    if isinstance(error, TELLING):
        told["why"] = (str(error).splitlines() or [""])[0][:LONGEST_CHARS]
    return told


def escaped(text: str) -> str:
    """The text on one line: control characters are written out."""
    return CONTROL.sub(lambda found: f"\\u{ord(found.group()):04x}", text)


def _places(error: BaseException) -> list[str]:
    frames = traceback.extract_tb(error.__traceback__)
    return [f"{_short(frame.filename)}:{frame.lineno} {frame.name}" for frame in frames]


def _short(path: str) -> str:
    return "/".join(Path(path).parts[-3:])


def _word(value: object) -> str:
    text = " < ".join(reversed(value)) if isinstance(value, list) else str(value)
    return json.dumps(text) if " " in text else text
