"""The system's screen: whether everything works, read at this moment."""

from __future__ import annotations

import shutil
from contextlib import suppress
from dataclasses import dataclass

from fastapi import APIRouter
from fastapi.responses import Response

from api.deps import FiguresDep, ReaderDep, SettingsDep, ShelfDep, WriterDep, WritingDep
from api.domain.checkpoints import Checkpoint
from api.domain.errors import Unavailable
from api.domain.inbox import ItemKind
from api.routes.office.desk import DeskDep
from api.routes.office.formatting import count, moment, size
from api.routes.office.page import build
from api.use_cases import inbox, system
from api.use_cases.checkpoints import newest_checkpoint
from api.use_cases.ports import Means, UnitOfWork

router = APIRouter()
LEAST_FREE_BYTES = 500_000_000
IN_DOUBT: list[tuple[str, tuple[ItemKind, ...]]] = [
    ("Set aside", ("set-aside",)),
    ("Signatures to look at", ("refused", "waiting")),
]


@dataclass(frozen=True)
class Figure:
    name: str
    text: str
    shape: str = ""
    tone: str = ""


@dataclass(frozen=True)
class Block:
    title: str
    facts: list[Figure]


@router.get("/system")
def health(
    desk: DeskDep,
    writer: WriterDep,
    reader: ReaderDep,
    figures: FiguresDep,
    settings: SettingsDep,
    writing: WritingDep,
    shelf: ShelfDep,
) -> Response:
    """A row is written, committed and read back if that is possible; every figure is read now."""
    found, records = _written(writer, reader, desk.means, writing.why())
    amounts = inbox.list_items(desk.uow, desk.means, desk.person).amounts
    disk = shutil.disk_usage(settings.data)
    low = disk.free < LEAST_FREE_BYTES
    return desk.show(
        "system/health.html",
        "System",
        headline=[
            records,
            Figure("Numbered so far", count(found.head, "record")),
            *(
                _amount(words, sum(amounts.get(one, 0) for one in kinds))
                for words, kinds in IN_DOUBT
            ),
            Figure(
                "Free on the disk",
                size(disk.free),
                "triangle" if low else "",
                "is-held" if low else "",
            ),
        ],
        blocks=[
            Block(
                "Database",
                [
                    Figure("Engine", f"{figures.engine} {figures.version}"),
                    Figure("Form of the tables", figures.form or "none"),
                    Figure("Epoch", found.epoch),
                    Figure("Last record", str(found.head)),
                ],
            ),
            Block(
                "This server",
                [
                    Figure("Its time", moment(found.time)),
                    Figure("Data folder", str(settings.data.absolute())),
                    Figure("Free of", f"{size(disk.free)} of {size(disk.total)}"),
                    Figure("Build of the front end", build() or "not built"),
                    Figure("Largest body taken", size(settings.max_body_bytes)),
                ],
            ),
            Block("Proof", _proof(newest_checkpoint(desk.uow))),
        ],
        backups=_backups(shelf, found.watermark),
        in_doubt=sum(amounts.values()),
    )


def _written(
    writer: UnitOfWork, reader: UnitOfWork, means: Means, read_only: str
) -> tuple[system.Health, Figure]:
    """This page is where somebody looks when nothing can be written, so it is shown even then."""
    if not read_only:
        with suppress(Unavailable):
            found = system.health(writer, reader, means)
            return found, Figure("Records", "written and read back", "disc")
    only_read = Figure("Records", "read only", "triangle", "is-held")
    return system.as_read(reader, means), only_read


def _backups(shelf: ShelfDep, watermark: int | None) -> list[Figure]:
    kept, failure = shelf.all(), shelf.failure()
    newest = next((one for one in kept if one.good), None)
    facts = [
        Figure("Newest", f"{moment(newest.at)}, up to record {newest.manifest.seq}", "disc")
        if newest
        else Figure("Newest", "there is none", "triangle", "is-held"),
        Figure("Kept", count(len(kept), "backup")),
        Figure("Folder", str(shelf.folder.absolute())),
        Figure("Tablets may let go of", f"records up to {watermark}" if watermark else "nothing"),
    ]
    if failure:
        facts.insert(1, Figure("Last try", f"failed: {failure.why}", "triangle", "is-held"))
    return facts


def _proof(newest: Checkpoint | None) -> list[Figure]:
    """Whoever keeps these figures elsewhere can later tell whether history was written anew."""
    check = Figure("Check it with", "clampbook verify")
    if newest is None:
        return [Figure("Newest checkpoint", "none yet", "triangle"), check]
    return [
        Figure("Newest checkpoint", moment(newest.when)),
        Figure("It counts", count(newest.count, "record")),
        Figure("Head of the chain", newest.head),
        Figure("Signed by key", newest.key),
        check,
    ]


def _amount(name: str, amount: int) -> Figure:
    """None is calm; any is marked."""
    return (
        Figure(name, str(amount), "triangle", "is-held") if amount else Figure(name, "none", "ring")
    )
