"""The shop's signing key and the file of checkpoints outside the database, as use cases see them."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Protocol

from api.domain.checkpoints import Checkpoint


class Notary(Protocol):
    """Signs for the shop, and keeps checkpoints where the database's writers do not reach."""

    @property
    def key_id(self) -> str:
        """The name of the key that signs now."""
        ...

    def sign(self, text: str) -> str:
        """Ed25519 over the text's UTF-8 bytes, in base64."""
        ...

    def signed(self, key_id: str, text: str, signature: str) -> bool | None:
        """Whether the signature is that key's; None when no such key is known."""
        ...

    def publish(self, checkpoint: Checkpoint) -> None:
        """Appends it to the file, on disk when this returns; raises `Unavailable`."""
        ...

    def published(self) -> Iterator[Checkpoint | str]:
        """The file line by line; a line that is no checkpoint comes as a sentence about it."""
        ...
