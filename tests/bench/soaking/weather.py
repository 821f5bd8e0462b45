"""What goes wrong while tablets work: the network, the power, the disk that is put back to a copy."""

from __future__ import annotations

import random
import threading

from api.backing import BackupFailed
from tests.bench.soaking.figures import Figures
from tests.support.bad_network import BadNetwork, Mode
from tests.support.sim.served import ServedSite

EVERY_S = (4.0, 9.0)
HALF_OPEN_S = 2.0
NETWORKS: tuple[Mode, ...] = ("whole", "lossy", "lossy", "half open")


class Weather:
    """One misfortune after another, drawn from a seed, until `ends` is set."""

    def __init__(
        self, site: ServedSite, network: BadNetwork, figures: Figures, chance: random.Random
    ) -> None:
        self.site, self.network, self.figures, self.chance = site, network, figures, chance
        self.ends = threading.Event()
        self._next: list[str] = []

    def run(self) -> None:
        while not self.ends.wait(self.chance.uniform(*EVERY_S)):
            self._blow(self._drawn())
        self.network.mode = "whole"

    def _drawn(self) -> str:
        """Every kind comes as often as any other, in an order of its own."""
        if not self._next:
            self._next = ["network", "power", "network", "backup", "network", "restore"]
            self.chance.shuffle(self._next)
        return self._next.pop()

    def _blow(self, what: str) -> None:
        match what:
            case "network":
                self.network.mode = self.chance.choice(NETWORKS)
                if self.network.mode == "half open":
                    self.ends.wait(HALF_OPEN_S)
                    self.network.mode = "lossy"
            case "power":
                self.site.restart()
                self.figures.count("restarts")
            case "backup":
                self._back_up()
            case "restore":
                if self.site.restore(self.chance.randrange(10)):
                    self.figures.count("restores")

    def _back_up(self) -> None:
        """The server makes backups of its own too, and one of the two waits."""
        try:
            self.site.back_up()
        except BackupFailed:
            return
        self.figures.count("backups")
