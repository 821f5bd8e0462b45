"""The folder of backups: which are there and good, what went wrong last, what may go."""

from __future__ import annotations

import datetime as dt
import json
import shutil
from dataclasses import asdict, dataclass
from pathlib import Path

from api.backing.manifest import Manifest, read_manifest
from api.backing.place import BackupFailed
from api.backing.retention import to_drop

PREFIX, UNFINISHED = "clampbook-", ".making-"
FAILURE_FILE = "last-failure.json"
STAMP = "%Y%m%dT%H%M%SZ"


@dataclass(frozen=True)
class Backup:
    folder: Path
    manifest: Manifest

    @property
    def at(self) -> dt.datetime:
        return self.manifest.at

    @property
    def good(self) -> bool:
        return not self.manifest.fault


@dataclass(frozen=True)
class Failure:
    """Why the last try came to nothing."""

    at: str
    why: str


class Shelf:
    def __init__(self, folder: Path) -> None:
        self.folder = folder

    def all(self) -> list[Backup]:
        """Finished ones, newest first; whatever has no manifest does not count."""
        found = []
        for folder in self.folder.glob(f"{PREFIX}*"):
            try:
                found.append(Backup(folder, read_manifest(folder)))
            except BackupFailed:
                continue
        return sorted(found, key=lambda one: (one.at, one.folder.name), reverse=True)

    def newest(self) -> Backup | None:
        """The newest good one."""
        return next((one for one in self.all() if one.good), None)

    def name_for(self, at: dt.datetime) -> str:
        """A name that nothing here has; two in one second get a number."""
        name = f"{PREFIX}{at.astimezone(dt.UTC):{STAMP}}"
        taken = sum(1 for _ in self.folder.glob(f"{name}*"))
        return f"{name}-{taken + 1}" if taken else name

    def sweep(self) -> None:
        """What a killed try left; the caller holds the lock."""
        for left in self.folder.glob(f"{UNFINISHED}*"):
            shutil.rmtree(left, ignore_errors=True)

    def thin_out(self, now: dt.datetime) -> list[str]:
        """Deletes what retention lets go; returns the names."""
        known = {one.folder: (one.at, one.good) for one in self.all()}
        dropped = to_drop(known, now)
        for folder in dropped:
            # Renamed first: half a deletion must not look like a backup.
            gone = folder.with_name(f"{UNFINISHED}{folder.name}")
            folder.rename(gone)
            shutil.rmtree(gone)
        return [folder.name for folder in dropped]

    def failure(self) -> Failure | None:
        try:
            return Failure(**json.loads((self.folder / FAILURE_FILE).read_text(encoding="utf-8")))
        except (OSError, ValueError, TypeError):
            return None

    def note_failure(self, why: str, at: dt.datetime) -> None:
        self.folder.mkdir(parents=True, exist_ok=True, mode=0o700)
        text = json.dumps(asdict(Failure(at.isoformat(), why)), ensure_ascii=False)
        (self.folder / FAILURE_FILE).write_text(text, encoding="utf-8")

    def forget_failure(self) -> None:
        (self.folder / FAILURE_FILE).unlink(missing_ok=True)
