"""What the use cases need from outside: a unit of work, a clock, a keeper of secrets, keys, a computer.

`with uow:` begins a transaction; leaving the block without `uow.commit()` rolls back.
"""

from api.use_cases.ports.kept import (
    Analyses,
    Designs,
    EventLog,
    Items,
    Journal,
    People,
    Plates,
    Sessions,
    Setups,
    Shop,
    Signatures,
    TabletRegister,
)
from api.use_cases.ports.means import (
    Analyser,
    Clock,
    Means,
    Opener,
    PinKeeper,
    Progress,
    Sealer,
    Signer,
    TabletKeys,
    Tokens,
)
from api.use_cases.ports.unit_of_work import UnitOfWork

__all__ = [
    "Analyser",
    "Analyses",
    "Clock",
    "Designs",
    "EventLog",
    "Items",
    "Journal",
    "Means",
    "Opener",
    "People",
    "PinKeeper",
    "Plates",
    "Progress",
    "Sealer",
    "Sessions",
    "Setups",
    "Shop",
    "Signatures",
    "Signer",
    "TabletKeys",
    "TabletRegister",
    "Tokens",
    "UnitOfWork",
]
