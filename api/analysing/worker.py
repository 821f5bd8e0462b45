"""Takes computations from the queue, one after the other, in a thread beside the server."""

from __future__ import annotations

import logging
import threading
from collections.abc import Callable

from api.domain.errors import Unavailable
from api.use_cases import analyses
from api.use_cases.ports import Means, UnitOfWork

LOOK_EVERY_S = 0.5
END_WITHIN_S = 2.0

log = logging.getLogger(__name__)


class Worker:
    """`start` queues again what a dead process left; `stop` gives up what is being computed."""

    def __init__(
        self,
        uow: Callable[[], UnitOfWork],
        reader: Callable[[], UnitOfWork],
        means: Means,
    ) -> None:
        self._uow, self._reader, self._means = uow, reader, means
        self._ends = threading.Event()
        self._thread = threading.Thread(target=self._run, name="computations", daemon=True)
        self._begun = False

    def start(self) -> None:
        self._thread.start()

    def stop(self) -> None:
        """What was being computed is queued again, for the next start."""
        self._ends.set()
        self._means.analyser.end()
        self._thread.join(END_WITHIN_S)

    def _run(self) -> None:
        while not self._ends.is_set():
            if not self._turn():
                self._ends.wait(LOOK_EVERY_S)

    def _turn(self) -> bool:
        """Whether there was something to do."""
        try:
            if not self._begun:
                analyses.requeue_left(self._uow(), self._means)
                self._begun = True
            if not analyses.waits(self._reader(), self._means):
                return False
            job = analyses.take_next(self._uow(), self._means)
            if job is not None:
                analyses.carry_out(self._uow(), self._means, job)
        except Unavailable as reason:
            log.warning("Computations wait: %s", reason)
            return False
        except Exception:
            log.exception("A computation was left; it is begun anew after a minute")
            return False
        return True
