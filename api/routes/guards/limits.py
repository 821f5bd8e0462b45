"""The table of limits: how much one address may ask of what costs or guards something."""

from __future__ import annotations

from dataclasses import dataclass

ANY_CHANGE = ""


@dataclass(frozen=True)
class Limit:
    """`burst` requests at once, then `per_min`; for these paths, or for all other changes."""

    name: str
    burst: int
    per_min: float
    paths: tuple[str, ...] = ()
    # Reading is limited too where it works the server hard.
    reads: bool = False


def limits(sign_ins_per_min: int) -> tuple[Limit, ...]:
    """The first that fits a request counts it.

    Fifty tablets may stand behind one address: they enrol in one morning, open their sessions
    together when the server has been away, and push twice a second each.
    """
    return (
        Limit("sign-in", sign_ins_per_min, sign_ins_per_min, ("/sign-in",)),
        Limit("enrolment", 30, 30, ("/api/tablets/enrol",)),
        Limit("tablet session", 200, 200, ("/api/tablets/challenge", "/api/tablets/session")),
        Limit("readiness", 60, 60, ("/api/ready",), reads=True),
        Limit("change", 400, 7_200),
    )
