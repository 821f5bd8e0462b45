"""A server that kills itself with SIGKILL at a chosen commit, as a power cut would.

`python -m tests.support.dying DATA DATABASE_URL PORT before|after NTH`
"""

from __future__ import annotations

import os
import signal
import sys
from pathlib import Path

import uvicorn

from api.app import create_app
from api.domain.records import StoredEvent
from api.settings import Settings
from api.storage.event_log import SqlEventLog
from api.storage.unit_of_work import SqlUnitOfWork


def die_at(when: str, nth: int) -> None:
    """Around the nth commit of a record; what the server writes of itself does not count."""
    append, commit = SqlEventLog.append, SqlUnitOfWork.commit
    count = 0

    def noted(self: SqlEventLog, event: StoredEvent) -> StoredEvent:
        self._session.info["record"] = True
        return append(self, event)

    def counted(self: SqlUnitOfWork) -> None:
        nonlocal count
        count += bool(self._open.info.pop("record", False))
        if count == nth and when == "before":
            os.kill(os.getpid(), signal.SIGKILL)
        commit(self)
        if count == nth and when == "after":
            os.kill(os.getpid(), signal.SIGKILL)

    SqlEventLog.append = noted  # type: ignore[method-assign]
    SqlUnitOfWork.commit = counted  # type: ignore[method-assign]


def main() -> None:
    data, url, port, when, nth = sys.argv[1:]
    app = create_app(Settings(data=Path(data), database_url=url, port=int(port)))
    die_at(when, int(nth))
    uvicorn.run(app, port=int(port), log_level="warning", access_log=False)


if __name__ == "__main__":
    main()
