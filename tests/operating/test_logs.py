"""The log: one line for one thing, as text or JSON, and nothing secret in it."""

from __future__ import annotations

import io
import json
import logging
from collections.abc import Iterator
from typing import Literal

import pytest
from sqlalchemy.exc import OperationalError

from api.domain.errors import Unavailable
from api.operating.logs import install

Form = Literal["text", "json"]


@pytest.fixture
def logged() -> Iterator[dict[Form, io.StringIO]]:
    """What is written in each form; the process's own logging comes back afterwards."""
    root = logging.getLogger()
    before, level = root.handlers, root.level
    streams: dict[Form, io.StringIO] = {"text": io.StringIO(), "json": io.StringIO()}
    handlers = [install(form, stream) for form, stream in streams.items()]
    root.handlers = handlers
    yield streams
    root.handlers = before
    root.setLevel(level)


def fail_with(error: Exception) -> None:
    try:
        raise error
    except Exception as caught:
        logging.getLogger("api.test").error("failed", exc_info=caught)


def test_a_line_says_when_what_and_the_facts_that_are_known(
    logged: dict[Form, io.StringIO],
) -> None:
    facts = {"status": 200, "badge": None, "route": "/api/plates/{serial}"}
    logging.getLogger("api.test").info("request", extra={"facts": facts})
    told = json.loads(logged["json"].getvalue())
    assert told["time"].endswith("Z") and told["level"] == "info" and told["status"] == 200
    assert "badge" not in told
    assert (
        "request from=api.test status=200 route=/api/plates/{serial}" in logged["text"].getvalue()
    )


@pytest.mark.parametrize(
    "nasty", ["two\nlines", "escape \x1b[31m", "bell \x07", "line\u2028end", "\r"]
)
def test_control_characters_are_written_out(logged: dict[Form, io.StringIO], nasty: str) -> None:
    logging.getLogger("api.test").warning("said %s", nasty, extra={"facts": {"why": nasty}})
    for stream in logged.values():
        written = stream.getvalue()
        assert written.count("\n") == 1 and written.endswith("\n")
        assert written.strip("\n").isprintable()


def test_a_failure_tells_its_place_but_not_what_somebody_sent(
    logged: dict[Form, io.StringIO],
) -> None:
    fail_with(ValueError("invalid PIN '4711'"))
    told = json.loads(logged["json"].getvalue())
    assert told["error"] == "ValueError"
    assert told["trace"][-1].endswith("fail_with")
    assert "operating/test_logs.py:" in told["trace"][-1]
    assert all("4711" not in stream.getvalue() for stream in logged.values())


def test_our_own_and_the_systems_failures_say_why(logged: dict[Form, io.StringIO]) -> None:
    fail_with(Unavailable("The disk is full."))
    fail_with(OperationalError("INSERT", {}, OSError("disk I/O error")))
    first, second = map(json.loads, logged["json"].getvalue().splitlines())
    assert first["why"] == "The disk is full."
    assert "disk I/O error" in second["why"]


def test_a_cause_is_told_with_its_place(logged: dict[Form, io.StringIO]) -> None:
    try:
        try:
            raise KeyError("secret")
        except KeyError as cause:
            raise Unavailable("Not now.") from cause
    except Unavailable as caught:
        logging.getLogger("api.test").error("failed", exc_info=caught)
    told = json.loads(logged["json"].getvalue())
    assert told["error"] == "Unavailable from KeyError"
    assert "secret" not in logged["json"].getvalue()


def test_the_web_servers_repetition_is_left_out_and_its_warnings_are_not(
    logged: dict[Form, io.StringIO],
) -> None:
    logger = logging.getLogger("uvicorn.error")
    logger.error("Exception in ASGI application\n")
    logger.warning("Invalid HTTP request received.")
    logger.info("Started server process")
    (line,) = logged["json"].getvalue().splitlines()
    assert json.loads(line)["event"] == "Invalid HTTP request received."
