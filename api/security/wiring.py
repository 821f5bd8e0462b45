"""The real clock, keys and secrets, put together for the use cases."""

from __future__ import annotations

from pathlib import Path
from typing import Protocol

from api.security.clock import SystemClock
from api.security.pins import ArgonPins
from api.security.sealing import load_or_make
from api.security.tokens import RandomTokens
from api.use_cases.ports import Means


class KeysFolder(Protocol):
    @property
    def keys(self) -> Path: ...


def means_for(settings: KeysFolder) -> Means:
    """Makes the sealing key on first start."""
    return Means(SystemClock(), ArgonPins(), load_or_make(settings.keys), RandomTokens())
