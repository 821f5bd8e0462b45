"""An end that is asked for comes, whatever still hangs: a slow client, a lock, a thread."""

from __future__ import annotations

import logging
import os
import signal
import sys
import threading
from socket import socket
from types import FrameType

import uvicorn

END_WITHIN_S = 4.0

log = logging.getLogger(__name__)


class EndingServer(uvicorn.Server):
    """Ends with status 0 on SIGTERM, and within seconds on any signal.

    A transaction that is cut off was not committed, and nobody was told otherwise.
    """

    def run_to_the_end(self, *sockets: socket, within_s: float = END_WITHIN_S) -> None:
        """From the main thread; SIGTERM, which comes back when all is ended, is a success."""
        self.deadline = threading.Timer(within_s, _cut)
        self.deadline.daemon = True
        signal.signal(signal.SIGTERM, _ended)
        self.run(list(sockets))

    def handle_exit(self, sig: int, frame: FrameType | None) -> None:
        if not self.should_exit:
            self.deadline.start()
        super().handle_exit(sig, frame)


def _ended(_signal: int, _frame: FrameType | None) -> None:
    """All is closed; taking the interpreter apart piece by piece would only take time."""
    _leave()


def _cut() -> None:
    log.warning("ended with requests unanswered; their senders send them again")
    _leave()


def _leave() -> None:
    sys.stdout.flush()
    logging.shutdown()
    os._exit(0)
