"""Projections made anew from the log alone; the result equals what was kept up live."""

from __future__ import annotations

from api.use_cases.ports import UnitOfWork
from api.use_cases.records import folding, projecting


def rebuild(uow: UnitOfWork) -> int:
    """Throws every projection away and folds every setup again; returns how many there are."""
    with uow:
        uow.events.lock()
        uow.setups.clear()
        steps_of = folding.steps_from(uow)
        setups = uow.events.setups()
        for setup in setups:
            projecting.save(uow, folding.load(uow, setup, steps_of))
        uow.shop.bump()
        uow.commit()
    return len(setups)
