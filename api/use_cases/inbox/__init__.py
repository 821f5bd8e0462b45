"""What waits for a lead: refused and waiting signatures, conflicts, late records, gaps, tablets."""

from api.use_cases.inbox.listing import (
    Listed,
    count,
    list_items,
    list_settled,
    settlements_of_setup,
)
from api.use_cases.inbox.looking import Looked, look
from api.use_cases.inbox.settling import open_again, settle

__all__ = [
    "Listed",
    "Looked",
    "count",
    "list_items",
    "list_settled",
    "look",
    "open_again",
    "settle",
    "settlements_of_setup",
]
