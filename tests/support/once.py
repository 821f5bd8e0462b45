"""What is dear to make and only read afterwards: made once in a run, whichever worker needs it first."""

from __future__ import annotations

import fcntl
import os
import shutil
from collections.abc import Callable
from pathlib import Path

import pytest


def made_once(factory: pytest.TempPathFactory, name: str, make: Callable[[Path], object]) -> Path:
    """The folder that `make` fills; other workers of the run wait for it and get the same one."""
    folder = _common(factory) / name
    finished = folder.with_name(f"{name}.made")
    with folder.with_name(f"{name}.lock").open("w") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        if not finished.exists():
            shutil.rmtree(folder, ignore_errors=True)
            make(folder)
            finished.touch()
    return folder


def _common(factory: pytest.TempPathFactory) -> Path:
    """Each worker's own temporary folder lies in that of the run."""
    own = factory.getbasetemp()
    return own.parent if "PYTEST_XDIST_WORKER" in os.environ else own
