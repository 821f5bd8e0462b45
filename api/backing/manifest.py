"""What a copy says of itself: how far its records go, and the hash of every file in it."""

from __future__ import annotations

import datetime as dt
import hashlib
import json
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

from api.backing.place import BackupFailed

FILE = "manifest.json"
FORM = 1
PER_READ_BYTES = 1 << 20


@dataclass(frozen=True)
class Manifest:
    """`seq`, `count` and `head` are the last number, the amount and the chain value in the copy.

    `files` are SHA-256 hashes by path in the copy's folder; `fault` says where the records
    themselves did not fit when they were copied, and is empty in a good copy.
    """

    made_at: str
    engine: str
    form: str
    epoch: str
    seq: int
    count: int
    head: str
    checkpoint: dict[str, Any] | None
    copy: str
    files: dict[str, str]
    fault: str = ""
    manifest: int = FORM

    @property
    def at(self) -> dt.datetime:
        return dt.datetime.fromisoformat(self.made_at)

    def text(self) -> str:
        return json.dumps(asdict(self), indent=1, sort_keys=True, ensure_ascii=False) + "\n"


def read_manifest(folder: Path) -> Manifest:
    """Raises `BackupFailed` when the folder is no finished copy, or of a later version."""
    path = folder / FILE
    try:
        raw = json.loads(path.read_text(encoding="utf-8"))
        made = Manifest(**raw)
        made.at  # noqa: B018 raises where it is no moment
    except (OSError, ValueError, TypeError) as problem:
        raise BackupFailed(
            f"{folder} is not a finished backup: {FILE} cannot be read. "
            "Name a folder like clampbook-20261125T080000Z."
        ) from problem
    if made.manifest != FORM:
        raise BackupFailed(f"{folder} was made by a newer Clampbook. Restore it with that version.")
    return made


def hashes_of(folder: Path) -> dict[str, str]:
    """Every file but the manifest."""
    files = sorted(path for path in folder.rglob("*") if path.is_file())
    return {
        path.relative_to(folder).as_posix(): sha256_of(path)
        for path in files
        if path != folder / FILE
    }


def altered(folder: Path, manifest: Manifest) -> str:
    """The first file that is missing, is not as it was written, or was added; empty if none."""
    found = hashes_of(folder)
    for name in sorted(manifest.files.keys() | found.keys()):
        if name not in found:
            return f"{name} is missing"
        if found[name] != manifest.files.get(name):
            return f"{name} is not as it was written"
    return ""


def sha256_of(path: Path) -> str:
    summed = hashlib.sha256()
    with path.open("rb") as file:
        while part := file.read(PER_READ_BYTES):
            summed.update(part)
    return summed.hexdigest()
