"""Files that are on disk when a call returns, whatever happens to the power afterwards."""

from __future__ import annotations

import os
import tempfile
from pathlib import Path


def write_new(path: Path, content: bytes) -> None:
    """Makes the file whole, readable by its owner alone; one that is there already stays."""
    fresh = _written_beside(path, content)
    try:
        # A link fails if another process was first, so what is in use is never replaced.
        path.hardlink_to(fresh)
    except FileExistsError:
        pass
    finally:
        fresh.unlink()
    sync_folder(path.parent)


def write_over(path: Path, content: bytes) -> None:
    """Puts the file in the place of an earlier one; whoever reads gets one of them whole."""
    _written_beside(path, content).replace(path)
    sync_folder(path.parent)


def _written_beside(path: Path, content: bytes) -> Path:
    descriptor, name = tempfile.mkstemp(dir=path.parent)
    with os.fdopen(descriptor, "wb") as file:
        file.write(content)
        file.flush()
        os.fsync(file.fileno())
    return Path(name)


def append(path: Path, content: bytes) -> None:
    """Adds the bytes at the end in one write."""
    descriptor = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_APPEND, 0o600)
    try:
        view = memoryview(content)
        while view:
            view = view[os.write(descriptor, view) :]
        os.fsync(descriptor)
    finally:
        os.close(descriptor)
    sync_folder(path.parent)


def cut(path: Path, size: int) -> None:
    with path.open("r+b") as file:
        file.truncate(size)
        os.fsync(file.fileno())


def sync_folder(folder: Path) -> None:
    descriptor = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(descriptor)
    finally:
        os.close(descriptor)
