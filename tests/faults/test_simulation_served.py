"""The same play against a real server process on each engine; power cuts are real, examples fewer."""

from __future__ import annotations

from hypothesis import HealthCheck, settings
from hypothesis.stateful import run_state_machine_as_test

from tests.faults.simulation import Faults
from tests.support.invariants import assert_invariants
from tests.support.sim.machine import Machine
from tests.support.sim.served import ServedSite


class Served(Faults):
    """All examples play in one shop, each with tablets of its own."""

    restores = restarts = 1


def test_the_same_faults_against_a_real_server_lose_and_double_nothing(served: ServedSite) -> None:
    with Machine() as machine:
        Served.machine, Served.site = machine, served
        run_state_machine_as_test(
            Served,
            settings=settings(
                max_examples=2,
                stateful_step_count=25,
                deadline=None,
                suppress_health_check=list(HealthCheck),
            ),
        )
    assert_invariants(served.database)
