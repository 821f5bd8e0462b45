"""The outside world as a use case sees it: time, secrets, keys, and a computer for designs."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Protocol

from api.domain.analyses.guide import Analysis
from api.domain.designs import Design, Finding
from api.domain.stores import Stores

Progress = Callable[[str, float], None]


class Clock(Protocol):
    def now(self) -> dt.datetime: ...


class PinKeeper(Protocol):
    """Hashes PINs and passwords slowly, and compares them."""

    def hash(self, secret: str) -> str: ...

    def verify(self, secret: str, hashed: str) -> bool: ...


class Opener(Protocol):
    """The server's private keys: the one in use and older ones open what tablets have sealed."""

    @property
    def key_id(self) -> str: ...

    @property
    def public(self) -> bytes: ...

    def open(self, key_id: str, sealed: bytes, info: bytes) -> bytes:
        """The plain text; raises `BadInput` if it was sealed otherwise or for another key."""
        ...

    def make(self) -> str:
        """The id of a new key that can open; tablets are told of it only after `use`."""
        ...

    def use(self, key_id: str) -> None: ...


class Sealer(Protocol):
    """What a tablet does with a PIN; the demonstration shop signs its past setups with it."""

    @property
    def key_id(self) -> str: ...

    def seal(self, plain: bytes, info: bytes) -> bytes: ...


class Tokens(Protocol):
    def new(self) -> str: ...

    def digest(self, token: str) -> str: ...


class TabletKeys(Protocol):
    """Checks what tablets sign with keys of their own (ECDSA P-256, SHA-256)."""

    def signed(self, key: str, text: str, signature: str) -> bool:
        """False, too, where the key or the signature is none."""
        ...

    def nonce(self, tablet: str) -> str:
        """Something for this tablet to sign within a minute; the same for any name."""
        ...

    def use_nonce(self, nonce: str, tablet: str) -> bool:
        """Whether the nonce is this tablet's and fresh; it is used up then."""
        ...


class Signer(Protocol):
    """A tablet's own key pair, as the demonstration's tablets have one."""

    @property
    def public(self) -> str: ...

    def sign(self, text: str) -> str: ...


class Analyser(Protocol):
    """Computes what a design does; results with the same inputs are the same."""

    @property
    def method(self) -> str:
        """The version of the way it is computed."""
        ...

    def inputs_of(self, design: Design, stores: Stores) -> str:
        """The hash of all that goes into the computation, the method among it."""
        ...

    def analyse(
        self, design: Design, stores: Stores, findings: Sequence[Finding], progress: Progress
    ) -> Analysis:
        """Takes seconds; `progress` is told in words, with the share done so far.

        Raises `AnalysisFailed` where nothing came of it, `AnalysisEnded` after `end`.
        """
        ...

    def end(self) -> None:
        """Gives up what is being computed, from another thread; for good."""
        ...


@dataclass(frozen=True, slots=True)
class Means:
    """What a use case is handed beside its unit of work."""

    clock: Clock
    pins: PinKeeper
    opener: Opener
    tokens: Tokens
    analyser: Analyser
    tablet_keys: TabletKeys
