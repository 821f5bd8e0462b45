"""The bench's own sync machine against the server's own use cases, with hypothesis in between."""

from __future__ import annotations

import tempfile
from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import HealthCheck, settings
from hypothesis.stateful import run_state_machine_as_test

from tests.faults.simulation import Faults
from tests.support.sim.machine import Machine
from tests.support.sim.sites import FileSite, Site


@pytest.fixture(scope="module")
def machine() -> Iterator[Machine]:
    with Machine() as started:
        yield started


class OnFile(Faults):
    """A shop of its own for each example."""

    site: FileSite

    def new_site(self) -> Site:
        self.folder = tempfile.TemporaryDirectory(prefix="clampbook-sim-")
        return FileSite(Path(self.folder.name))

    def end_site(self) -> None:
        self.site.close()
        self.folder.cleanup()


def test_whatever_is_lost_doubled_late_killed_or_restored_every_tick_ends_on_the_server_once(
    machine: Machine,
) -> None:
    OnFile.machine = machine
    run_state_machine_as_test(
        OnFile,
        settings=settings(
            max_examples=18,
            stateful_step_count=40,
            deadline=None,
            suppress_health_check=list(HealthCheck),
        ),
    )
