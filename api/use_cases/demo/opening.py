"""How a setup begins: what is due, which wrench and indicator are taken, what is frozen with it."""

from __future__ import annotations

from random import Random
from typing import Any

from api.domain import indicator_choice
from api.domain.steps import select
from api.domain.stores import Indicator, Item, TorqueTool
from api.domain.torque_setting import suits
from api.use_cases.demo import gauge
from api.use_cases.demo.scene import Scene
from api.use_cases.demo.stories import OVERDUE
from api.use_cases.demo.tablet import Tablet, uuid7
from api.use_cases.demo.times import CREEPING, Slot
from api.use_cases.plates import PlateInfo

LEAST_TOUCHED = 2
CLAMPS_PER_TOUCH = 5


class Opening:
    """The first event of a setup, and what the bench then works with."""

    def __init__(self, scene: Scene, slot: Slot, random: Random) -> None:
        self._scene, self._slot, self._random = scene, slot, random
        info = scene.plate(slot.plate)
        self.sheet = scene.sheet(info.design, info.revision or "")
        self.tool, self.indicator = self._tool(), self._indicator()
        facts = self._facts(info)
        self.plan = select(self.sheet["steps"], facts)
        self.data = {
            "plate": info.serial,
            "design": self.sheet["design"],
            "revision": self.sheet["revision"],
            "revision_hash": self.sheet["hash"],
            "facts": facts,
            "frozen": self._frozen(),
            "due": [name for name in ("grease", "baseline") if facts[f"{name}_due"]]
            + [one.event for one in info.open_troubles],
        }

    def setup_id(self, tablet: Tablet) -> str:
        return uuid7(tablet.now, self._random)

    def _facts(self, info: PlateInfo) -> dict[str, Any]:
        care, order = self.sheet["care"], self.sheet["order"]
        touched = min(len(order), max(LEAST_TOUCHED, -(-len(order) // CLAMPS_PER_TOUCH)))
        return {
            "grease_due": _due(info.setups_since_grease, care["grease_every"]),
            "baseline_due": _due(info.setups_since_baseline, care["baseline_every"]),
            "second_touch": self._random.sample(order, touched),
        }

    def _tool(self) -> TorqueTool:
        day = self._slot.start.date()
        targets = [one["target"]["value"] for one in self.sheet["steps"] if one["item"] == "tool"]
        overdue = self._scene.overdue_tools(day) if OVERDUE in self._slot.stories else []
        pulls = self._scene.uow.setups.pulls()
        fit = [
            tool
            for tool in overdue or self._scene.tools.values()
            if not suits(tool, targets, day, tool.pulls_before + pulls.get(tool.serial, 0))
        ]
        return self._random.choice(fit)

    def _indicator(self) -> Indicator:
        """The plate that creeps is always read with the same dial."""
        day = self._slot.start.date()
        widths = [
            indicator_choice.limit_width_mm(one["low_mm"], one["high_mm"])
            for one in self.sheet["points"]
        ]
        expected = self._scene.expected(self.sheet)
        fit = [
            one
            for one in self._scene.indicators.values()
            if not indicator_choice.refusals(one, widths, day) and gauge.follows(one, expected)
        ]
        return fit[0] if self._slot.plate == CREEPING else self._random.choice(fit)

    def _frozen(self) -> dict[str, Any]:
        clamps = self.sheet["clamps"]
        pulls = self._scene.uow.setups.pulls().get(self.tool.serial, 0)
        return {
            "tool": _json(self.tool) | {"pulls": self.tool.pulls_before + pulls},
            "indicator": _json(self.indicator),
            "greases": _chosen(self._scene.greases, {one["grease"] for one in clamps}),
            "specs": _chosen(self._scene.specs, {one["spec"] for one in clamps}),
        }


def _due(count: int, every: int | None) -> bool:
    return every is not None and count >= every


def _json(item: Item) -> dict[str, Any]:
    return item.model_dump(mode="json")


def _chosen(shelf: Any, keys: set[str]) -> list[dict[str, Any]]:
    return [_json(item) for key, item in shelf.items() if key in keys]
