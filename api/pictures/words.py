"""Numbers and sentences of a result as they are read: few digits, a unit elsewhere, no minus zero."""

from __future__ import annotations

import re
from collections.abc import Iterable

from api.domain.analyses.result import Check

NONE = "none"
_PRINTED = {"N*m": "N·m", "lbf*in": "lbf·in", "lbf*ft": "lbf·ft", "um": "µm", "urad": "µrad"}
_FILE_UNIT = re.compile(r"(?<![A-Za-z])(?:N\*m|lbf\*in|lbf\*ft|um|urad)(?![A-Za-z])")


def plain(value: float, decimals: int) -> str:
    """Rounded to that many decimals, with a true minus sign."""
    text = f"{value:.{decimals}f}"
    return text.lstrip("-") if float(text) == 0 else text.replace("-", "\u2212")


def um(value: float | None) -> str:
    """Micrometres: whole from 10 up, one decimal below."""
    if value is None:
        return NONE
    return plain(value, 0 if abs(value) >= 9.95 or abs(value) < 0.05 else 1)


def kn(value_n: float | None) -> str:
    """Kilonewtons with two decimals."""
    return NONE if value_n is None else plain(value_n / 1e3, 2)


def nm(value: float | None) -> str:
    return NONE if value is None else trimmed(value, 2)


def share(value: float) -> str:
    """A share of one in per cent: 93 %."""
    return f"{plain(value * 100, 0)} %"


def multiple(value: float | None) -> str:
    """How many times the cutting load is held."""
    if value is None:
        return "no limit"
    return plain(value, 2) if value < 9.995 else plain(value, 0)


def trimmed(value: float, decimals: int) -> str:
    text = plain(value, decimals)
    return text.rstrip("0").rstrip(".") if "." in text else text


def limits_um(limit: tuple[float, float]) -> str:
    return f"{um(limit[0])} to {um(limit[1])}"


def minutes(seconds: float | None) -> str:
    """A time in the largest units that matter: 1 h 12 min, 4 min 05 s, 12 s."""
    if seconds is None:
        return "not given"
    whole = round(seconds)
    if whole >= 3600:
        return f"{whole // 3600} h {whole % 3600 // 60:02d} min"
    return f"{whole // 60} min {whole % 60:02d} s" if whole >= 60 else f"{whole} s"


def listed(words: Iterable[str]) -> str:
    """one, two and three."""
    *first, last = [*words]
    return f"{', '.join(first)} and {last}" if first else last


def counted(amount: int, one: str, many: str = "") -> str:
    return f"{amount} {one if amount == 1 else many or f'{one}s'}"


def sentence(text: str) -> str:
    """The text with a capital letter (not of an id), a full stop, and units as they are printed."""
    text = _printed(text.strip())
    if not text:
        return ""
    end = "" if text.endswith((".", "!", "?")) else "."
    first = text.split()[0].strip(",:;'\"")
    start = text[0].upper() if first.isalpha() else text[0]
    return f"{start}{text[1:]}{end}"


def _printed(text: str) -> str:
    """Units as on the screen, but not inside quotation marks: there they are for the file."""
    parts = text.split('"')
    parts[::2] = [
        _FILE_UNIT.sub(lambda found: _PRINTED[found.group()], part) for part in parts[::2]
    ]
    return '"'.join(parts)


def said(check: Check) -> str:
    """What was found, led by what it is about unless the message says so itself."""
    name = check.subject.rpartition(" ")[2]
    if not name or re.search(rf"(?<!\w){re.escape(name)}(?!\w)", check.message):
        return sentence(check.message)
    return sentence(f"{check.subject}: {check.message}")
