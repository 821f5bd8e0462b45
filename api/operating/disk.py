"""How much room is left where records are kept; asked often, looked at seldom."""

from __future__ import annotations

import shutil
import time
from collections.abc import Sequence
from pathlib import Path

LOOK_EVERY_S = 2.0


class DiskWatch:
    """`low` says which folder has too little room left; it looks at most every two seconds."""

    def __init__(
        self, folders: Sequence[Path], least_free_bytes: int, look_every_s: float = LOOK_EVERY_S
    ) -> None:
        self._folders = list(dict.fromkeys(folders))
        self._least, self._every_s = least_free_bytes, look_every_s
        self._looked_at = -float("inf")
        self._low = ""

    def low(self) -> str:
        """What is wrong and what to do, as one sentence; empty while there is room."""
        now = time.monotonic()
        if now - self._looked_at >= self._every_s:
            self._looked_at = now
            self._low = self._look()
        return self._low

    def free_bytes(self) -> int:
        """The least that is free in any of the folders."""
        return min(shutil.disk_usage(existing(folder)).free for folder in self._folders)

    def _look(self) -> str:
        for folder in self._folders:
            free = shutil.disk_usage(existing(folder)).free
            if free < self._least:
                return (
                    f"the disk of {folder} has {size(free)} free, and below {size(self._least)} "
                    "nothing more is written. Free some space on it"
                )
        return ""


def existing(folder: Path) -> Path:
    """The folder, or the nearest one above it that is there."""
    return next(one for one in (folder, *folder.absolute().parents) if one.is_dir())


def size(count: int) -> str:
    return f"{count / 1e9:.1f} GB" if count >= 1e9 else f"{count / 1e6:.1f} MB"
