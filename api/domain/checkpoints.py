"""Checkpoints: how far the records had come at a moment, signed by the shop, kept outside the database."""

from __future__ import annotations

import datetime as dt
import json
from dataclasses import asdict, dataclass
from typing import Any

from api.domain.chain import canonical
from api.domain.errors import BadInput

FIELDS = {
    "at": str,
    "count": int,
    "epoch": str,
    "head": str,
    "key": str,
    "seq": int,
    "signature": str,
    "why": str,
}


@dataclass(frozen=True, slots=True)
class Checkpoint:
    """`count` events and journal entries up to number `seq`, whose chain value is `head`.

    `signature` is the shop's, over the canonical JSON of all else; `key` names the key.
    """

    at: str
    count: int
    epoch: str
    head: str
    key: str
    seq: int
    why: str
    signature: str = ""

    @property
    def signed_text(self) -> str:
        return canonical({name: value for name, value in self.told.items() if name != "signature"})

    @property
    def when(self) -> dt.datetime:
        return dt.datetime.fromisoformat(self.at)

    @property
    def told(self) -> dict[str, Any]:
        return asdict(self)


def parse_checkpoint(text: str) -> Checkpoint:
    """The checkpoint in `text`; raises `BadInput` when it is none."""
    try:
        raw = json.loads(text)
    except (ValueError, RecursionError):
        raise BadInput("A checkpoint is one JSON object in a line.") from None
    if not isinstance(raw, dict) or raw.keys() != FIELDS.keys():
        raise BadInput(f"A checkpoint has exactly the fields {', '.join(FIELDS)}.")
    wrong = [name for name, kind in FIELDS.items() if type(raw[name]) is not kind]
    if wrong:
        raise BadInput(f"The checkpoint's field {wrong[0]} is not of the right kind.")
    return Checkpoint(**raw)
