"""The system's screen: whether everything works, read at this moment."""

from __future__ import annotations

import shutil
from dataclasses import dataclass

from fastapi import APIRouter
from fastapi.responses import Response

from api.deps import FiguresDep, ReaderDep, SettingsDep, WriterDep
from api.domain.checkpoints import Checkpoint
from api.domain.inbox import ItemKind
from api.routes.office.desk import DeskDep
from api.routes.office.formatting import count, moment, size
from api.routes.office.page import build
from api.use_cases import inbox, system
from api.use_cases.checkpoints import newest_checkpoint

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
    desk: DeskDep, writer: WriterDep, reader: ReaderDep, figures: FiguresDep, settings: SettingsDep
) -> Response:
    """A row is written, committed and read back; every figure is read now."""
    found = system.health(writer, reader, desk.means)
    amounts = inbox.list_items(desk.uow, desk.means, desk.person).amounts
    disk = shutil.disk_usage(settings.data)
    low = disk.free < LEAST_FREE_BYTES
    return desk.show(
        "system/health.html",
        "System",
        headline=[
            Figure("Records", "written and read back", "disc"),
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
        in_doubt=sum(amounts.values()),
    )


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
