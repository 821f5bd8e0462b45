"""The office's own key, as use cases see it: with it a lead's records enter the log like any."""

from __future__ import annotations

from typing import Protocol


class OfficePen(Protocol):
    """Writes under the name of one more tablet, the office."""

    @property
    def tablet(self) -> str: ...

    @property
    def public(self) -> str: ...

    def sign(self, text: str) -> str: ...

    def elapsed_ms(self) -> float:
        """Since the office began to write; never runs backwards."""
        ...

    def new_id(self, at_ms: int) -> str:
        """A UUID of version 7."""
        ...
