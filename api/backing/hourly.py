"""Has a backup made whenever the newest is old enough, by a process of its own."""

from __future__ import annotations

import datetime as dt
import logging
import subprocess
import sys
import threading
from collections.abc import Sequence
from pathlib import Path

import api
from api.backing.shelf import Shelf

FIRST_LOOK_S = 15.0
LOOK_EVERY_S = 30.0
TRY_AGAIN_S = 600.0
END_WITHIN_S = 2.0
# The very code of this process, with the folder it was started in, which paths may hang on.
START = (
    "import runpy, sys; sys.path.insert(0, sys.argv[1]); "
    "runpy.run_module('api.backing', run_name='__main__')"
)
COMMAND = (sys.executable, "-c", START, str(Path(api.__path__[0]).parent))

log = logging.getLogger(__name__)


class Hourly:
    """A thread that looks at the folder; it never stops the server, whatever goes wrong in it.

    A process, not a thread, copies: reading the whole chain again would slow every request. One
    that is killed leaves nothing that counts.
    """

    def __init__(
        self,
        shelf: Shelf,
        settings_json: str,
        every: dt.timedelta,
        *,
        command: Sequence[str] = COMMAND,
        first_look_s: float = FIRST_LOOK_S,
        look_every_s: float = LOOK_EVERY_S,
    ) -> None:
        self._shelf, self._settings, self._every = shelf, settings_json, every
        self._command = command
        self._first_s, self._look_s = first_look_s, look_every_s
        self._ends = threading.Event()
        self._lock = threading.Lock()
        self.process: subprocess.Popen[bytes] | None = None
        self._tried: dt.datetime | None = None
        self._thread = threading.Thread(target=self._run, name="backups", daemon=True)

    def start(self) -> None:
        if self._every:
            self._thread.start()

    def stop(self) -> None:
        self._ends.set()
        with self._lock:
            if self.process is not None:
                self.process.kill()
        if self._thread.is_alive():
            self._thread.join(END_WITHIN_S)

    def _run(self) -> None:
        wait_s = self._first_s
        while not self._ends.wait(wait_s):
            wait_s = self._look_s
            try:
                if self.is_due(dt.datetime.now(dt.UTC)):
                    self._make()
            except Exception:
                log.exception("a backup could not be begun")

    def is_due(self, now: dt.datetime) -> bool:
        if self._tried is not None and now - self._tried < dt.timedelta(seconds=TRY_AGAIN_S):
            return False
        # One dated later than now tells nothing: the clock was wrong then, or is now.
        ages = [now - one.at for one in self._shelf.all() if one.good and one.at <= now]
        return min(ages, default=self._every) >= self._every

    def _make(self) -> None:
        process = self._begin()
        if process is None:
            return
        _, said = process.communicate(f"{self._settings}\n".encode())
        with self._lock:
            self.process = None
        if self._ends.is_set():
            return
        if process.returncode:
            self._tried = dt.datetime.now(dt.UTC)
            why = (said.decode(errors="replace").strip().splitlines() or ["no reason given"])[-1]
            log.error("backup failed", extra={"facts": {"why": why}})
            return
        self._tried = None
        newest = self._shelf.newest()
        log.info("backup made", extra={"facts": {"folder": newest.folder.name if newest else None}})

    def _begin(self) -> subprocess.Popen[bytes] | None:
        with self._lock:
            if self._ends.is_set():
                return None
            self.process = subprocess.Popen(  # noqa: S603 our own interpreter and module
                self._command,
                stdin=subprocess.PIPE,
                stderr=subprocess.PIPE,
                start_new_session=True,
            )
            return self.process
