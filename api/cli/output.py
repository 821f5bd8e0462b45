"""What the commands print, and how they fail: one sentence that says what to do."""

from __future__ import annotations

import errno
from collections.abc import Callable
from functools import wraps
from typing import NoReturn, ParamSpec, TypeVar

import typer
from pydantic import ValidationError
from rich.console import Console
from sqlalchemy.exc import SQLAlchemyError

from api.domain.errors import ClampbookError

P = ParamSpec("P")
R = TypeVar("R")

console = Console(highlight=False)
complaints = Console(stderr=True, highlight=False, soft_wrap=True)


def say(message: str, *, style: str = "") -> None:
    """Print a sentence as it is, for the terminal to wrap."""
    console.print(message, markup=False, soft_wrap=True, style=style)


def stop(message: str, *, status: int = 1) -> NoReturn:
    """Print the sentence where errors go and end the command."""
    complaints.print(message, markup=False)
    raise typer.Exit(status)


def plainly(command: Callable[P, R]) -> Callable[P, R]:
    """The command, with the failures a person can mend told as one sentence."""

    @wraps(command)
    def told(*args: P.args, **kwargs: P.kwargs) -> R:
        try:
            return command(*args, **kwargs)
        except ClampbookError as error:
            stop(error.message)
        except ValidationError as error:
            stop(_setting(error))
        except OSError as error:
            stop(_file(error))
        except SQLAlchemyError as error:
            stop(f"The database refused: {str(error).splitlines()[0]}. Run 'clampbook doctor'.")

    return told


def _setting(error: ValidationError) -> str:
    first = error.errors()[0]
    name = "_".join(str(part) for part in first["loc"])
    reason = first["msg"].removeprefix("Value error, ")
    if not name:
        return f"The settings do not fit together: {reason}."
    return f"The setting {name} (CLAMPBOOK_{name.upper()}) cannot be used: {reason}."


def _file(error: OSError) -> str:
    if error.errno == errno.ENOSPC:
        return "The disk is full. Free some space, then run the command again."
    place = f" {error.filename}" if error.filename else ""
    return (
        f"The file system refused{place}: {error.strerror or error}. Check the path and its rights."
    )
