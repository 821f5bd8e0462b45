"""The tree of errors a person may meet; each has a stable code and says what to do."""

from __future__ import annotations


class ClampbookError(Exception):
    """Root of the tree. `where` names the file, line, field or record it is about."""

    code = "clampbook"

    def __init__(self, message: str, *, code: str | None = None, **where: str | int | None) -> None:
        super().__init__(message)
        self.message = message
        self.code = code or type(self).code
        self.where = {key: value for key, value in where.items() if value is not None}

    def __str__(self) -> str:
        return self.message


class BadInput(ClampbookError):
    """Something a person or a tablet gave is malformed."""

    code = "bad-input"


class NotFound(ClampbookError):
    """The thing named does not exist here."""

    code = "not-found"


class NotAllowed(ClampbookError):
    """The person's role does not cover this action."""

    code = "not-allowed"


class NotSignedIn(ClampbookError):
    """Nobody is signed in, or the session has ended."""

    code = "not-signed-in"


class Clash(ClampbookError):
    """The state of the record does not permit the change."""

    code = "clash"


class TooMany(ClampbookError):
    """Too many tries; wait `retry_after_s` seconds."""

    code = "too-many"


class Unavailable(ClampbookError):
    """The records cannot be written or read now."""

    code = "unavailable"


class AnalysisFailed(ClampbookError):
    """A computation came to nothing; the message is one sentence that says why."""

    code = "analysis-failed"


class AnalysisEnded(ClampbookError):
    """A computation was given up because the program ends."""

    code = "analysis-ended"


class EventError(BadInput):
    """An event text that cannot be taken as a record."""

    code = "bad-event"
