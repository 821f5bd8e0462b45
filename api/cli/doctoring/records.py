"""The records: their chain from end to end, its head, the last checkpoint, epoch and watermark."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator

from api.cli.doctoring.answer import Answer
from api.cli.doctoring.machine import clock
from api.domain.checkpoints import Checkpoint
from api.domain.proof import Written, first_fault
from api.security import signing
from api.security.checkpoint_file import CheckpointFile
from api.settings import Settings
from api.storage.engine import Database
from api.storage.unit_of_work import SqlUnitOfWork
from api.use_cases.ports import UnitOfWork
from api.use_cases.proof import written

KEEP = "Keep this database as it is, run 'clampbook verify', and restore a backup beside it."


def records(settings: Settings, database: Database) -> Iterator[Answer]:
    with SqlUnitOfWork(database, read_only=True) as uow:
        fault, count = first_fault(written(uow))
        seq, head = uow.events.chain_head()
        newest = _written_at(uow, seq)
        if fault:
            yield Answer("event log", fault, KEEP)
        else:
            yield Answer("event log", f"{count} records, every hash and chain fits")
            yield Answer("chain head", f"number {seq}, {head}")
        yield checkpoint(settings, uow)
        meta = uow.shop.meta()
    mark = "none yet" if meta.watermark is None else str(meta.watermark)
    yield Answer("epoch", f"{meta.epoch}; backed up to number {mark}")
    yield clock(dt.datetime.now(dt.UTC), newest)


def checkpoint(settings: Settings, uow: UnitOfWork) -> Answer:
    """The last line of the file must be signed, and met by the chain as it is now."""
    file = CheckpointFile(settings.checkpoints_folder)
    lines, epoch = list(file.lines()), uow.shop.meta().epoch
    known = signing.known_keys([file.folder])
    wrong = next((line for line in lines if isinstance(line, str)), "")
    if wrong:
        return Answer("checkpoint", wrong, KEEP)
    mine = [one for one in lines if isinstance(one, Checkpoint) and one.epoch == epoch]
    if not mine:
        todo = "Start the server, which makes one; if it ran before, look for the file."
        return Answer("checkpoint", f"none of this epoch in {file.path}", todo)
    last = mine[-1]
    told = f"number {last.seq} of {last.at[:16].replace('T', ' ')}, in {file.path}"
    public = known.get(last.key)
    if public is None or not signing.signed(public, last.signed_text, last.signature):
        return Answer("checkpoint", f"{told}, is not signed by a key of this shop", KEEP)
    if last.seq and _chain_at(uow, last.seq) != last.head:
        return Answer("checkpoint", f"{told}, does not fit the chain in the database", KEEP)
    return Answer("checkpoint", f"{told}, signed and met")


def _chain_at(uow: UnitOfWork, seq: int) -> str | None:
    found: list[Written] = [*uow.events.after(seq - 1, 1), *uow.journal.after(seq - 1, 1)]
    return next((one.chain for one in found if one.seq == seq), None)


def _written_at(uow: UnitOfWork, seq: int) -> dt.datetime | None:
    events, entries = uow.events.after(seq - 1, 1), uow.journal.after(seq - 1, 1)
    return next((one.received_at for one in events), None) or next(
        (one.at for one in entries), None
    )
