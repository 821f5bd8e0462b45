"""Checkpoints: signed, published outside the database, then written into the journal."""

from __future__ import annotations

import datetime as dt
import json
import uuid
from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from api.domain.chain import canonical, moment
from api.domain.checkpoints import Checkpoint, parse_checkpoint
from api.domain.records import JournalEntry
from api.use_cases.ports import Means, UnitOfWork
from api.use_cases.ports.notary import Notary

EVERY = dt.timedelta(hours=24)


def make_checkpoint(uow: UnitOfWork, means: Means, notary: Notary, why: str) -> Checkpoint:
    """Signs how far the records have come; begins and commits its own transaction.

    It speaks of committed records only, and is in the file before it is in the journal: a crash
    between the two leaves a line of the file that the database meets all the same. The other
    order would leave an entry that looks as if the file had been cut.
    """
    with uow:
        uow.events.lock()
        seq, head = uow.events.chain_head()
        now = means.clock.now()
        unsigned = Checkpoint(
            at=moment(now),
            count=uow.events.count() + uow.journal.count(),
            epoch=uow.shop.meta().epoch,
            head=head,
            key=notary.key_id,
            seq=seq,
            why=why,
        )
        made = replace(unsigned, signature=notary.sign(unsigned.signed_text))
        notary.publish(made)
        uow.journal.add("checkpoint", str(seq), made.told, now)
        uow.commit()
    return made


def latest_checkpoint(uow: UnitOfWork) -> Checkpoint | None:
    """The newest in the journal; the caller has begun the transaction."""
    entry = uow.journal.last("checkpoint")
    return None if entry is None else parse_checkpoint(entry.body)


def newest_checkpoint(uow: UnitOfWork) -> Checkpoint | None:
    with uow:
        return latest_checkpoint(uow)


def make_due_checkpoint(uow: UnitOfWork, means: Means, notary: Notary) -> Checkpoint | None:
    """One a day, and one as soon as a shop or an epoch has none."""
    with uow:
        last, epoch = latest_checkpoint(uow), uow.shop.meta().epoch
    now = means.clock.now()
    if last is None or last.epoch != epoch:
        return make_checkpoint(uow, means, notary, "new shop" if last is None else "new epoch")
    age = now - dt.datetime.fromisoformat(last.at)
    return None if dt.timedelta() <= age < EVERY else make_checkpoint(uow, means, notary, "daily")


def begin_epoch(
    uow: UnitOfWork, means: Means, notary: Notary, by: str | None, told: Mapping[str, Any]
) -> Checkpoint:
    """Writes down that this database was restored from a copy, signed; then makes a checkpoint.

    Called once on the restored database, before anything else is written to it. `told` is what
    else the entry should say (the copy's name, its time). Epochs that the file knows and this
    database does not are named as given up.
    """
    published = {one.epoch for one in notary.published() if isinstance(one, Checkpoint)}
    if not published:
        publish_journal(uow, notary)
    with uow:
        uow.events.lock()
        seq, head = uow.events.chain_head()
        before, fresh = uow.shop.meta().epoch, str(uuid.uuid4())
        restored = uow.journal.of_kind("restored")
        body = {
            **told,
            "epoch": fresh,
            "from": before,
            "given_up": sorted(published - {before} - epochs_of(restored)),
            "head": head,
            "key": notary.key_id,
            "seq": seq,
        }
        signature = notary.sign(canonical(body))
        uow.shop.set_epoch(fresh)
        uow.journal.add("restored", fresh, {**body, "signature": signature}, means.clock.now(), by)
        uow.shop.bump()
        uow.commit()
    return make_checkpoint(uow, means, notary, "restored")


def publish_journal(uow: UnitOfWork, notary: Notary) -> None:
    """A shop that comes to a new place begins the file there with what its journal holds."""
    with uow:
        uow.events.lock()
        for entry in uow.journal.of_kind("checkpoint"):
            notary.publish(parse_checkpoint(entry.body))


def epochs_of(restored: list[JournalEntry]) -> set[str]:
    """Epochs that "restored" entries name, given up or not."""
    bodies = [json.loads(one.body) for one in restored]
    return {epoch for one in bodies for epoch in (one["epoch"], one["from"], *one["given_up"])}
