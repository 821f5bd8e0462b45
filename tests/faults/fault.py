"""One fault of the index, and the tests that several faults share."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

Shown = Mapping[str, tuple[str, ...]]


@dataclass(frozen=True, slots=True)
class Fault:
    """`shown` names tests by file."""

    what: str
    shown: Shown

    @property
    def tests(self) -> Iterator[tuple[str, str]]:
        """File and name."""
        for file, names in self.shown.items():
            for name in names:
                yield file, name


PLAY: Shown = {
    "tests/faults/test_simulation.py": (
        "test_whatever_is_lost_doubled_late_killed_or_restored_every_tick_ends_on_the_server_once",
    ),
    "tests/faults/test_simulation_served.py": (
        "test_the_same_faults_against_a_real_server_lose_and_double_nothing",
    ),
}
KILLS: Shown = {
    "tests/sync/test_killed_server.py": (
        "test_a_server_killed_around_a_commit_has_kept_what_it_committed_and_no_more",
    ),
    "tests/faults/test_random_kills.py": (
        "test_five_power_cuts_while_eight_tablets_push_lose_and_double_nothing",
    ),
}
