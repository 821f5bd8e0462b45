"""Figures in words."""

from __future__ import annotations

from collections.abc import Sequence


def mm(micrometres: float) -> str:
    """Millimetres with the sign, to a micrometre below a tenth: "0.021 mm"."""
    value = micrometres / 1e3
    digits = 3 if abs(value) < 0.1 else 2
    return f"{value:.{digits}f} mm"


def span(low_um: float, high_um: float) -> str:
    """ "0.021 to 0.034 mm"."""
    digits = 3 if max(abs(low_um), abs(high_um)) < 100 else 2
    return f"{low_um / 1e3:.{digits}f} to {high_um / 1e3:.{digits}f} mm"


def kn(newtons: float) -> str:
    return f"{newtons / 1e3:.1f} kN" if abs(newtons) >= 1e3 else f"{newtons:.0f} N"


def percent(share: float) -> str:
    return f"{100 * share:.0f} %"


def times(multiple: float) -> str:
    return f"{multiple:.1f} times"


def listed(names: Sequence[str]) -> str:
    """ "C1", "C1 and C2", "C1, C2 and C5"; a run of more than four is shortened."""
    if len(names) > 4:
        return f"{names[0]}, {names[1]} and {len(names) - 2} more"
    return " and ".join([", ".join(names[:-1]), names[-1]]) if len(names) > 1 else names[0]


def passes(count: int) -> str:
    words = {1: "one pass", 2: "two passes", 3: "three passes", 4: "four passes"}
    return words.get(count, f"{count} passes")
