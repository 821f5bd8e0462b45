"""The file of checkpoints outside the database: only ever added to, each line on disk at once."""

from __future__ import annotations

import logging
from collections.abc import Iterator
from pathlib import Path

from api.domain.chain import canonical
from api.domain.checkpoints import Checkpoint, parse_checkpoint
from api.domain.errors import BadInput, Unavailable
from api.security import signing
from api.security.durable import append, cut

FILE = "checkpoints.jsonl"
TORN_FILE = "checkpoints.torn"
LONGEST_LINE = 4096
log = logging.getLogger("clampbook.checkpoints")


class CheckpointFile:
    """`checkpoints.jsonl` in a folder, with the public keys of what it holds beside it."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.path = folder / FILE

    def add(self, checkpoint: Checkpoint, public: str) -> None:
        """Appends a line; the caller holds the lock of the log, so nobody else does."""
        try:
            self.folder.mkdir(parents=True, exist_ok=True, mode=0o700)
            signing.keep_public(self.folder, public)
            self._heal()
            append(self.path, f"{canonical(checkpoint.told)}\n".encode())
        except OSError as problem:
            raise Unavailable(
                f"The checkpoint cannot be written to {self.path}: {problem.strerror or problem}. "
                "Correct the folder's owner and rights, or free some space."
            ) from problem

    def lines(self) -> Iterator[Checkpoint | str]:
        """Every line in turn; what is no checkpoint comes as a sentence about it.

        A last line without its end was being written when the power failed; the next `add` mends it.
        """
        if not self.path.exists():
            return
        with self.path.open("rb") as file:
            number = 0
            while line := file.readline(LONGEST_LINE):
                number += 1
                text = line.decode(errors="replace")
                try:
                    yield parse_checkpoint(text)
                except BadInput:
                    if not line.endswith(b"\n") and not file.read(1):
                        return
                    yield f"line {number} of {self.path} is no checkpoint"

    def torn(self) -> int:
        """How many half-written lines were moved aside."""
        aside = self.folder / TORN_FILE
        return aside.read_bytes().count(b"\n") if aside.exists() else 0

    def _heal(self) -> None:
        """A last line that a power cut left without its end is completed or moved aside."""
        if not self.path.exists():
            return
        whole, torn = _last_line(self.path)
        if not torn:
            return
        try:
            parse_checkpoint(torn.decode(errors="replace"))
        except BadInput:
            append(self.folder / TORN_FILE, torn + b"\n")
            cut(self.path, whole)
            log.warning("a half-written line of %s was moved to %s", self.path, TORN_FILE)
        else:
            append(self.path, b"\n")


class ShopNotary:
    """The shop's signing key together with the file of what it signed."""

    def __init__(self, key: signing.ShopKey, file: CheckpointFile) -> None:
        self._key, self._file = key, file
        self.key_id = key.key_id

    def sign(self, text: str) -> str:
        return self._key.sign(text)

    def signed(self, key_id: str, text: str, signature: str) -> bool | None:
        known = self.keys().get(key_id)
        return None if known is None else signing.signed(known, text, signature)

    def keys(self) -> dict[str, str]:
        """Public keys by name: the current one and those kept beside the file."""
        return {**signing.known_keys([self._file.folder]), self.key_id: self._key.public}

    def publish(self, checkpoint: Checkpoint) -> None:
        self._file.add(checkpoint, self._key.public)

    def published(self) -> Iterator[Checkpoint | str]:
        return self._file.lines()


def open_notary(keys: Path, checkpoints: Path) -> ShopNotary:
    """Makes the signing key on first use."""
    return ShopNotary(signing.load_or_make(keys), CheckpointFile(checkpoints))


def _last_line(path: Path) -> tuple[int, bytes]:
    """Where the last whole line ends, and the bytes after it."""
    size = path.stat().st_size
    with path.open("rb") as file:
        file.seek(max(0, size - LONGEST_LINE))
        tail = file.read()
    torn = tail.rpartition(b"\n")[2]
    return size - len(torn), torn
