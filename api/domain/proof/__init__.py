"""Whether what was written down still fits together; pure, so that an export can be asked too."""

from api.domain.proof.examination import Examination, Findings, Line
from api.domain.proof.faults import Fault
from api.domain.proof.rows import CHAIN_FLAG, Written, first_fault, name_of
from api.domain.proof.witnesses import Signed

__all__ = [
    "CHAIN_FLAG",
    "Examination",
    "Fault",
    "Findings",
    "Line",
    "Signed",
    "Written",
    "first_fault",
    "name_of",
]
