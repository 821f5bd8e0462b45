"""The records: taking events in, projecting them, judging signatures, handing them out."""

from api.use_cases.records.accepting import (
    BY_CALLER,
    CARRIED,
    EACH_EVENT,
    Accepted,
    CommitPolicy,
    Result,
    accept_events,
)
from api.use_cases.records.answering import Seen
from api.use_cases.records.handing_out import Pulled, head, pull
from api.use_cases.records.rebuilding import rebuild
from api.use_cases.records.rejudging import judge_due_signatures

__all__ = [
    "BY_CALLER",
    "CARRIED",
    "EACH_EVENT",
    "Accepted",
    "CommitPolicy",
    "Pulled",
    "Result",
    "Seen",
    "accept_events",
    "head",
    "judge_due_signatures",
    "pull",
    "rebuild",
]
