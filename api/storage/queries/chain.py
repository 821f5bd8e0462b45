"""The next place in the server's one order and chain, shared by events and the journal."""

from __future__ import annotations

from collections.abc import Callable

from sqlmodel import Session, col, select

from api.domain.chain import NO_PREVIOUS
from api.storage.queries.shop import count_up
from api.storage.tables import EventRow, JournalRow

_TAIL = "chain"


def append(session: Session, chain_of: Callable[[int, str], str]) -> tuple[int, str]:
    """The next sequence number and the chain value that `chain_of(seq, previous)` gives it.

    The counter's row keeps every other writer out until the transaction ends, so the end of
    the chain is asked for once in a transaction.
    """
    seq = count_up(session, "seq")
    chain = chain_of(seq, session.info.get(_TAIL) or head(session)[1])
    session.info[_TAIL] = chain
    return seq, chain


def head(session: Session) -> tuple[int, str]:
    """Number and chain value of the last event or entry."""
    event = session.exec(
        select(EventRow.seq, EventRow.chain).order_by(col(EventRow.seq).desc()).limit(1)
    ).first()
    entry = session.exec(
        select(JournalRow.seq, JournalRow.chain).order_by(col(JournalRow.seq).desc()).limit(1)
    ).first()
    return max(event or (0, NO_PREVIOUS), entry or (0, NO_PREVIOUS))


def forget(session: Session) -> None:
    """What was remembered holds for one transaction."""
    session.info.pop(_TAIL, None)
