"""The real clock, keys, secrets and computation, put together for the use cases."""

from __future__ import annotations

from pathlib import Path
from typing import Protocol

from api.analysing import Here
from api.security.clock import SystemClock
from api.security.pins import ArgonPins
from api.security.sealing import load_or_make
from api.security.tablet_keys import TabletKeys
from api.security.tokens import RandomTokens
from api.use_cases.ports import Analyser, Means


class KeysFolder(Protocol):
    @property
    def keys(self) -> Path: ...


def means_for(settings: KeysFolder, analyser: Analyser | None = None) -> Means:
    """Makes the sealing key on first start; computes in this process unless told otherwise."""
    keys = load_or_make(settings.keys)
    return Means(SystemClock(), ArgonPins(), keys, RandomTokens(), analyser or Here(), TabletKeys())
