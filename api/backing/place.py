"""Where a shop's things lie, as copying sees them, and how copying fails."""

from __future__ import annotations

from pathlib import Path
from typing import Protocol

from api.domain.errors import ClampbookError


class Place(Protocol):
    """The settings of one server."""

    @property
    def data(self) -> Path: ...

    @property
    def database(self) -> str: ...

    @property
    def keys(self) -> Path: ...

    @property
    def backups_folder(self) -> Path: ...

    @property
    def least_free_bytes(self) -> int: ...


class BackupFailed(ClampbookError):
    """A copy was not made, cannot be used, or could not be put back; nothing was lost by it."""

    code = "backup-failed"
