"""Every page of the office that a GET opens, found from what the shop holds."""

from __future__ import annotations

from typing import Any

from tests.browser.record import ask

PLATE = "SAD-20-001"
FIXED = {
    "plates": "/plates",
    "plate": f"/plates/{PLATE}",
    "plate-label": f"/plates/{PLATE}/label",
    "plate-sheet": f"/plates/{PLATE}/sheet?tool=T-05",
    "add-plate": "/add-plate",
    "load-design": "/load-design",
    "design": "/designs/SAD-20/B",
    "design-clamp-rings": "/designs/CLR-08/A",
    "design-report": "/designs/SAD-20/B/report",
    "design-withdraw": "/designs/SAD-20/B/withdraw",
    "logbook": "/logbook",
    "to-settle": "/to-settle",
    "settled": "/settled",
    "readings": f"/readings?plate={PLATE}&point=A&state=torqued+locked",
    "stores-tools": "/stores/tool",
    "stores-indicators": "/stores/indicator",
    "stores-greases": "/stores/grease",
    "stores-specs": "/stores/spec",
    "stores-materials": "/stores/material",
    "tool": "/stores/tool/T-09",
    "tool-add": "/stores/add/tool",
    "tool-change": "/stores/tool/T-03/change",
    "crew": "/crew",
    "person": "/crew/B-01",
    "add-person": "/add-person",
    "system": "/system",
}


def office_pages(url: str) -> dict[str, str]:
    """Name -> path."""
    setup = newest_setup(url)
    return {**FIXED, "setup": f"/setups/{setup}", "setup-add": f"/setups/{setup}/add"}


def office_paths(url: str) -> list[str]:
    return list(office_pages(url).values())


def newest_setup(url: str, plate: str = PLATE) -> str:
    history: dict[str, Any] = ask(url, f"/api/plates/{plate}/history").json()
    return str(history["setups"][0]["id"])
