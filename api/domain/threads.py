"""The thread a text names."""

from __future__ import annotations

import re

from api.mechanics.screws.geometry import Thread
from api.mechanics.screws.sizes import THREADS

_COARSE = {
    thread.name: thread.pitch_m * 1e3 for thread in THREADS.values() if "x" not in thread.name
}


def thread_of(text: str) -> Thread | None:
    """The thread a text names ("M8", "M8x1.25", "M8×1", "5/16-18 UNC"), or None."""
    plain = text.strip().replace("×", "x").replace("X", "x").replace(" ", "")
    plain = re.sub(r"(?:UNC|UNF|-?2A|-?3A)$", "", plain, flags=re.IGNORECASE).removeprefix("#")
    plain = plain[:1].upper() + plain[1:]
    if plain in THREADS:
        return THREADS[plain]
    size, _, pitch = plain.partition("x")
    if size in _COARSE and pitch in {f"{_COARSE[size]:g}", f"{_COARSE[size]:.2f}"}:
        return THREADS[size]
    return None
