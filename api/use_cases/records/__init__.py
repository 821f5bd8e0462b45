"""The records: taking events in, projecting them, judging signatures, handing them out."""

from api.use_cases.records.accepting import (
    BY_CALLER,
    EACH_EVENT,
    Accepted,
    CommitPolicy,
    Result,
    accept_events,
    judge_due_signatures,
)
from api.use_cases.records.handing_out import Pulled, head, pull
from api.use_cases.records.rebuilding import rebuild

__all__ = [
    "BY_CALLER",
    "EACH_EVENT",
    "Accepted",
    "CommitPolicy",
    "Pulled",
    "Result",
    "accept_events",
    "head",
    "judge_due_signatures",
    "pull",
    "rebuild",
]
