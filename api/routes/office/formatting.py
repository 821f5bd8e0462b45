"""How values look on a page: moments, days, units, numbers and short hashes."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from typing import Any

UNIT_ON_SCREEN = {"N*m": "N·m", "lbf*in": "lbf·in", "lbf*ft": "lbf·ft", "mm": "mm", "in": "in"}
_MONTHS = "Jan Feb Mar Apr May Jun Jul Aug Sep Oct Nov Dec".split()


def instant(value: dt.datetime | str | None) -> dt.datetime | None:
    """The value as an aware UTC moment; text must be ISO 8601."""
    if value is None or value == "":
        return None
    moment = dt.datetime.fromisoformat(value) if isinstance(value, str) else value
    return moment.replace(tzinfo=dt.UTC) if moment.tzinfo is None else moment


def day(value: dt.datetime | dt.date | str | None) -> str:
    """24 Nov 2026."""
    if isinstance(value, dt.date) and not isinstance(value, dt.datetime):
        return f"{value.day} {_MONTHS[value.month - 1]} {value.year}"
    moment = instant(value)
    return day(moment.astimezone().date()) if moment else "never"


def clock(value: dt.datetime | str | None) -> str:
    """23:31 in the zone of this computer."""
    at = instant(value)
    return f"{at.astimezone():%H:%M}" if at else "never"


def moment(value: dt.datetime | str | None) -> str:
    """24 Nov 2026, 23:31 in the zone of this computer."""
    at = instant(value)
    return f"{day(at)}, {at.astimezone():%H:%M}" if at else "never"


def moment_exact(value: dt.datetime | str | None) -> str:
    """24 Nov, 23:31:15 in the zone of this computer."""
    at = instant(value)
    if at is None:
        return "never"
    local = at.astimezone()
    return f"{local.day} {_MONTHS[local.month - 1]}, {local:%H:%M:%S}"


def iso(value: dt.datetime | str | None) -> str:
    """The moment as ISO 8601 in UTC, for `datetime` attributes and exports."""
    at = instant(value)
    return at.astimezone(dt.UTC).isoformat(timespec="milliseconds") if at else ""


def unit(name: str) -> str:
    return UNIT_ON_SCREEN.get(name, name)


def number(value: float | None, decimals: int = 3) -> str:
    """Up to `decimals` decimals, without trailing zeros and without a minus zero."""
    if value is None:
        return "not set"
    text = f"{value:.{decimals}f}".rstrip("0").rstrip(".") if decimals else f"{value:.0f}"
    return "0" if text in ("-0", "") else text.replace("-", "\u2212")


def limits(low_mm: float | None, high_mm: float | None) -> str:
    """\u22120.05 to 0.05 mm, or "no limit"."""
    if low_mm is None or high_mm is None:
        return "no limit"
    return f"{number(low_mm)} to {number(high_mm)} mm"


def short(hash_hex: str | None) -> str:
    """The first twelve characters of a hash; the whole one stands in the title beside it."""
    return hash_hex[:12] if hash_hex else "none"


def count(amount: int, one: str, many: str | None = None) -> str:
    return f"{amount} {one if amount == 1 else many or one + 's'}"


def span(milliseconds: float | None) -> str:
    """A time span in the largest units that matter: 1 h 12 min, 4 min 05 s, 12 s."""
    if milliseconds is None:
        return "not known"
    seconds = round(milliseconds / 1000)
    if seconds >= 3600:
        return f"{seconds // 3600} h {seconds % 3600 // 60:02d} min"
    return f"{seconds // 60} min {seconds % 60:02d} s" if seconds >= 60 else f"{seconds} s"


def size(byte_count: int | None) -> str:
    if byte_count is None:
        return "not known"
    amount = float(byte_count)
    for name in ("B", "kB", "MB", "GB"):
        if amount < 1000:
            return f"{amount:.0f} {name}" if name == "B" else f"{amount:.1f} {name}"
        amount /= 1000
    return f"{amount:.1f} TB"


def zone_name() -> str:
    return dt.datetime.now().astimezone().tzname() or "local time"


FILTERS: dict[str, Callable[..., Any]] = {
    "day": day,
    "clock": clock,
    "moment": moment,
    "exact": moment_exact,
    "iso": iso,
    "unit": unit,
    "num": number,
    "short": short,
    "count": count,
    "span": span,
    "size": size,
}
