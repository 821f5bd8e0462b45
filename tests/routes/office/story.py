"""One eventful setup, sent as a tablet sends it, for the tests of the logbook."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from api.domain.events import Event
from api.use_cases import designs
from tests.routes.office.visitor import Site
from tests.support.script import Tablet
from tests.support.shop import push

SETUP = "01920000-0000-7000-8000-000000000def"
LAST_READING = "read/A/torqued locked"


@dataclass
class Told:
    """The setup's id and the records the tests look for."""

    id: str
    events: list[Event]
    first_entry: Event
    second_entry: Event
    correction: Event


def tell(site: Site) -> Told:
    """Interrupted, taken over, out of limits twice, corrected, signed with a wrong PIN, added to."""
    revision = designs.get_revision(site.uow, "SAD-20", "B")
    steps: list[dict[str, Any]] = (revision.sheet or {})["steps"]
    tablet = Tablet("tab-9", setup=SETUP)
    opened = tablet.open(plate="SAD-20-003", revision_hash=revision.hash)
    events = [opened, *tablet.work(steps, LAST_READING)]
    events += [tablet.write("paused", None, reason="left")]
    tablet.person = "B-02"
    events += [tablet.write("taken over", None, **{"from": "B-01", "from_tablet": None})]
    first = tablet.reading(LAST_READING, "0.080")
    second = tablet.reading(LAST_READING, "0.075", 2, reason="read again, pad was clean")
    fields = {"value": "0.045", "unit": "mm", "raw": "0.045", "source": "typed"}
    fixed = tablet.write(
        "correction", None, refers=second.id, reason="one turn of the dial missed", **fields
    )
    signed = tablet.sign([*events, first, second, fixed])
    late = tablet.write("after-signature addition", None, adds="note", text="chip under pad 2")
    everything = [*events, first, second, fixed, signed, late]
    push(site, tablet)
    return Told(SETUP, everything, first, second, fixed)
