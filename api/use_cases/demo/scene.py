"""The shop in which the past setups happen: registers, tablets, the clock, and where the plates stand."""

from __future__ import annotations

import datetime as dt
from collections import Counter
from collections.abc import Callable
from pathlib import Path
from random import Random
from typing import Any

from api.domain.analyses.guide import Analysis
from api.domain.analyses.result import PointResult
from api.domain.errors import NotFound
from api.domain.people import Action, Role, may
from api.domain.plates import PlateState
from api.domain.stores import TorqueTool
from api.use_cases import plates, tablets
from api.use_cases.demo import stores
from api.use_cases.demo.founding import who
from api.use_cases.demo.gauge import Gauge
from api.use_cases.demo.tablet import BUILD, Tablet
from api.use_cases.demo.times import SetClock
from api.use_cases.ports import Means, Sealer, Signer, UnitOfWork
from api.use_cases.stores import everything, save_item

OFFSETS_MS = (840, -2310)


class Scene:
    """What every life of a setup shares."""

    def __init__(
        self,
        uow: UnitOfWork,
        means: Means,
        clock: SetClock,
        sealer: Sealer,
        new_key: Callable[[], Signer],
        folder: Path,
        seed: int,
    ) -> None:
        self.uow, self.means, self.clock, self.sealer, self.seed = uow, means, clock, sealer, seed
        self.folder = folder
        self.gauge = Gauge(seed)
        self.pins = {one.person.badge: one.pin for one in stores.demo_people(folder)}
        people = [one for one in uow.people.all() if one.active]
        self.operators = [one.badge for one in people if one.role is Role.OPERATOR]
        self.judges = [
            one.badge for one in people if one.role is not Role.OWNER and may(one, Action.JUDGE)
        ]
        self.lead = who(uow, Role.LEAD)
        held = everything(uow)
        self.tools, self.first_tools = dict(held.tools), dict(held.tools)
        self.indicators, self.specs, self.greases = held.indicators, held.specs, held.greases
        random = Random(f"{seed}/tablets")  # noqa: S311 not for secrets
        self.tablets = [Tablet(random, clock.now(), offset, new_key()) for offset in OFFSETS_MS]
        for number, tablet in enumerate(self.tablets, start=1):
            self._enrol(tablet, f"Bench {number}")
        self._sheets: dict[tuple[str, str], dict[str, Any]] = {}
        self._expected: dict[tuple[str, str], dict[str, PointResult]] = {}
        self._counts: Counter[str] = Counter()

    def _enrol(self, tablet: Tablet, name: str) -> None:
        made = tablets.make_code(self.uow, self.means, name, self.lead)
        code = tablets.plain_code(made.code)
        proof = tablet.signer.sign(tablets.enrol_text(code, tablet.id))
        key = tablet.signer.public
        tablets.enrol(self.uow, self.means, code, tablet.id, key, proof, BUILD)

    def count(self, plate: str) -> int:
        """How many setups the plate has had before this one, which is counted now."""
        self._counts[plate] += 1
        return self._counts[plate] - 1

    def sheet(self, design: str, revision: str) -> dict[str, Any]:
        key = (design, revision)
        if key not in self._sheets:
            found = self.uow.designs.get(*key)
            self._sheets[key] = found.sheet if found and found.sheet else {}
        return self._sheets[key]

    def expected(self, sheet: dict[str, Any]) -> dict[str, PointResult]:
        """What the analysis that the sheet was released with says of its points."""
        key = (sheet["design"], sheet["revision"])
        if key not in self._expected:
            found = self.uow.analyses.get(sheet["analysis"]["inputs"])
            if found is None or found.result is None:
                raise NotFound(f"The analysis of {key[0]}-{key[1]} is missing.", design=key[0])
            self._expected[key] = Analysis.model_validate(found.result).result.points
        return self._expected[key]

    def plate(self, serial: str) -> plates.PlateInfo:
        return plates.get_plate(self.uow, serial)

    def plate_state(self, serial: str) -> PlateState:
        return self.plate(serial).state

    def free_plate(self, serial: str) -> None:
        plates.free_plate(self.uow, self.means, serial, self.lead)

    def change_item(self, change: stores.Change) -> None:
        item = save_item(self.uow, self.means, change.kind, change.body, self.lead).item
        if isinstance(item, TorqueTool):
            self.tools[item.serial] = item

    def overdue_tools(self, day: dt.date) -> list[TorqueTool]:
        """Overdue by the register, as a tablet with an old copy of the register still has them."""
        return [self.first_tools[tool.serial] for tool in self.tools.values() if tool.due < day]
