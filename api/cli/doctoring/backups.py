"""The newest backup: how old it is, whether it is still whole, and what went wrong since."""

from __future__ import annotations

import datetime as dt

from api.backing import Backup, Shelf
from api.backing.manifest import altered
from api.cli.doctoring.answer import Answer

LATE = 3


def backups(shelf: Shelf, every_h: float, now: dt.datetime | None = None) -> Answer:
    newest, failure = shelf.newest(), shelf.failure()
    if failure is not None:
        todo = f"{failure.why} Then run 'clampbook backup'."
        return Answer("backup", f"the last try failed ({failure.at[:16]}); {told(newest)}", todo)
    if newest is None:
        todo = "Run 'clampbook backup', or keep the server running."
        return Answer("backup", f"none in {shelf.folder}", todo)
    wrong = altered(newest.folder, newest.manifest)
    if wrong:
        todo = "Run 'clampbook backup', and find out who changed the folder."
        return Answer("backup", f"{newest.folder.name} is no longer whole: {wrong}", todo)
    age = (now or dt.datetime.now(dt.UTC)) - newest.at
    if age > dt.timedelta(hours=LATE * (every_h or 24)):
        todo = "Run 'clampbook backup'. While the server runs it makes them by itself."
        return Answer("backup", f"{told(newest)}, which is long ago", todo)
    return Answer("backup", f"{told(newest)}, whole")


def told(newest: Backup | None) -> str:
    if newest is None:
        return "there is none"
    return f"the newest is {newest.folder.name}, up to number {newest.manifest.seq}"
