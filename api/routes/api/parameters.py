"""Parameters of the API, each with the form it must have."""

from __future__ import annotations

from typing import Annotated

from fastapi import Path, Query, Request

from api.domain.errors import BadInput

KEY = r"^[A-Za-z0-9][A-Za-z0-9._-]{0,39}$"
UUID = r"^[0-9a-f]{8}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{12}$"

Code = Annotated[str, Path(pattern=KEY, description="Code of a design", examples=["SAD-20"])]
RevisionName = Annotated[str, Path(pattern=KEY, description="Its revision", examples=["B"])]
Serial = Annotated[
    str,
    Path(
        pattern=r"^[A-Za-z0-9][A-Za-z0-9-]{0,31}$", description="A plate", examples=["SAD-20-001"]
    ),
]
SetupId = Annotated[str, Path(pattern=UUID, description="A setup")]
PageNumber = Annotated[int, Query(ge=1, le=1_000_000, description="Page, from 1")]
PerPage = Annotated[int, Query(ge=1, le=200, description="Entries a page")]
After = Annotated[int, Query(ge=0, le=2**53, description="Only what has a higher number")]
Limit = Annotated[int, Query(ge=1, le=1000, description="At most so many events")]


async def each_once(request: Request) -> None:
    """Refuses a query that gives one parameter twice: which of the two is meant is anyone's guess."""
    names = [name for name, _ in request.query_params.multi_items()]
    for name in names:
        if names.count(name) > 1:
            raise BadInput(
                f"The parameter {name[:40]!r} is given {names.count(name)} times. Give it once.",
                code="parameter-repeated",
            )
