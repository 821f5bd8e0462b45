"""Reading posted forms: small, bounded, and with messages that name the field."""

from __future__ import annotations

from dataclasses import dataclass, field

from fastapi import Request
from pydantic import ValidationError

from api.domain.errors import BadInput

MAX_FIELDS = 80
MAX_FIELD_CHARACTERS = 400_000


@dataclass
class Form:
    """What a person typed or sent; problems stand by their field, "" being the whole form."""

    values: dict[str, str] = field(default_factory=dict)
    files: dict[str, bytes] = field(default_factory=dict)
    problems: dict[str, str] = field(default_factory=dict)
    labels: dict[str, str] = field(default_factory=dict)

    def text(self, name: str) -> str:
        return self.values.get(name, "").strip()

    def refuse(self, name: str, message: str) -> None:
        self.problems.setdefault(name, message)

    def refuse_all(self, problem: ValidationError, prefix: str = "") -> None:
        """Take over the messages of a pydantic model, each beside its field."""
        for error in problem.errors():
            name = ".".join(str(part) for part in error["loc"])
            self.refuse(
                f"{prefix}{name}", plain_message(error["type"], error["msg"], error.get("ctx"))
            )

    @property
    def fine(self) -> bool:
        return not self.problems


def plain_message(kind: str, message: str, context: dict[str, object] | None = None) -> str:
    """A validation message in plain words."""
    limit = next(iter((context or {}).values()), "")
    known = {
        "missing": "This is needed.",
        "string_too_short": "This is needed.",
        "float_parsing": "Enter a number, with a point for decimals.",
        "int_parsing": "Enter a whole number.",
        "int_from_float": "Enter a whole number.",
        "finite_number": "Enter a number.",
        "string_pattern_mismatch": "Use letters, digits and hyphens; start with a letter or digit.",
        "greater_than": f"Enter a number above {limit}.",
        "greater_than_equal": f"Enter a number of at least {limit}.",
        "literal_error": f"Choose {limit}.",
        "enum": f"Choose {limit}.",
        "less_than": f"Enter a number below {limit}.",
        "less_than_equal": f"Enter a number of at most {limit}.",
        "string_too_long": f"Shorten this to {limit} characters.",
        "date_from_datetime_parsing": "Enter a date as year-month-day, 2026-11-24.",
        "date_parsing": "Enter a date as year-month-day, 2026-11-24.",
    }
    text = known.get(kind) or message.removeprefix("Value error, ")
    text = text[:1].upper() + text[1:]
    return text if text.endswith(".") else text + "."


async def read_form(request: Request) -> Form:
    """The posted fields as text, and a file as its bytes; an empty file field is left out."""
    form = Form()
    async with request.form(max_files=1, max_fields=MAX_FIELDS) as posted:
        for name, value in posted.multi_items():
            if isinstance(value, str):
                form.values[name] = _bounded(name, value)
            elif value.filename:
                form.files[name] = await value.read()
    return form


def _bounded(name: str, text: str) -> str:
    if len(text) > MAX_FIELD_CHARACTERS:
        message = f"Field '{name}' holds more than {MAX_FIELD_CHARACTERS} characters."
        raise BadInput(message, field=name)
    if "\x00" in text:
        raise BadInput(f"Field '{name}' holds a NUL character, which no text does.", field=name)
    return text
