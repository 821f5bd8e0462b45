"""The machine: folders and their rights, room on its disks, the clock, the front end."""

from __future__ import annotations

import datetime as dt
import json
import shutil
import tempfile
from collections.abc import Iterator
from pathlib import Path

from api.cli.doctoring.answer import Answer
from api.operating.disk import existing, size
from api.settings import Settings
from api.storage.engine import Database

EARLY_WARNING = 5
OTHERS = 0o077
EARLIEST_CLOCK = dt.datetime(2026, 11, 1, tzinfo=dt.UTC)
FRONT_END = ("bench.js", "bench.css", "office.js", "office.css", "sw.js", "build.json")


def folder(path: Path) -> Answer:
    try:
        with tempfile.TemporaryFile(dir=path):
            pass
    except OSError as error:
        todo = f"Correct the owner and rights of {path}, or the disk it lies on."
        return Answer("data folder", f"{path} cannot be written: {error.strerror}", todo)
    return Answer("data folder", f"{path} can be written")


def keys(path: Path) -> Answer:
    """Whoever reads the keys can open every sealed PIN and sign for the shop."""
    if not path.is_dir():
        return Answer("keys", "none yet; the first start makes them")
    open_to = [one for one in (path, *sorted(path.rglob("*"))) if one.stat().st_mode & OTHERS]
    if open_to:
        todo = f"Take the rights of others away: chmod -R go= {path}"
        return Answer("keys", f"{open_to[0]} can be read by others on this machine", todo)
    return Answer("keys", f"{path} is its owner's alone")


def disks(settings: Settings, database: Database) -> Iterator[Answer]:
    """Of the data, the database's file, the checkpoints and the backups, each disk once."""
    folders = [settings.data, settings.checkpoints_folder, settings.backups_folder]
    if database.is_sqlite:
        folders.insert(1, Path(database.url.database or "").parent)
    seen: set[int] = set()
    for place in map(existing, folders):
        device = place.stat().st_dev
        if device not in seen:
            seen.add(device)
            yield disk(place, settings.least_free_bytes)


def disk(path: Path, least_free_bytes: int) -> Answer:
    free = shutil.disk_usage(path).free
    found = f"{size(free)} free for {path}"
    if free < least_free_bytes:
        todo = f"Free some space now: below {size(least_free_bytes)} nothing is written."
        return Answer("disk space", found, todo)
    todo = "Free some space before the next setup."
    return Answer("disk space", found, todo if free < EARLY_WARNING * least_free_bytes else "")


def front_end(dist: Path) -> Answer:
    missing = [name for name in FRONT_END if not (dist / name).is_file()]
    if missing:
        todo = "Install Clampbook again, or run 'python web/build.py' in a checkout."
        return Answer("front end", f"{', '.join(missing)} missing in {dist}", todo)
    build = json.loads((dist / "build.json").read_text())["build"]
    return Answer("front end", f"build {build}")


def clock(now: dt.datetime, newest: dt.datetime | None) -> Answer:
    """Against this version's date and the newest record."""
    found = f"{now:%Y-%m-%d %H:%M:%S} UTC"
    todo = "Set this machine's clock, or let it follow a time server."
    if now < EARLIEST_CLOCK:
        return Answer("clock", f"{found} lies before this version was written", todo)
    if newest is not None and newest > now + dt.timedelta(minutes=1):
        return Answer(
            "clock", f"{found} lies before the newest record ({newest:%Y-%m-%d %H:%M})", todo
        )
    return Answer("clock", found)
