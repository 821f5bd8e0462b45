"""The index of faults is whole, and every test it names is there."""

from __future__ import annotations

import ast
from functools import cache

import pytest

from tests.faults.fault import PLAY, Fault
from tests.faults.index import FAULTS, PLAYED
from tests.support.checkout import ROOT

NUMBERS = range(1, 29)


@cache
def names_in(file: str) -> frozenset[str]:
    tree = ast.parse((ROOT / file).read_text(encoding="utf-8"))
    return frozenset(
        node.name
        for node in tree.body
        if isinstance(node, ast.FunctionDef) and node.name.startswith("test_")
    )


def test_every_fault_has_a_number_a_sentence_and_a_test() -> None:
    assert sorted(FAULTS) == list(NUMBERS)
    for fault in FAULTS.values():
        assert fault.what
        assert list(fault.tests)


@pytest.mark.parametrize("number", NUMBERS)
def test_every_test_that_shows_a_fault_is_there(number: int) -> None:
    named = [*FAULTS[number].tests]
    if number in PLAYED:
        named += Fault("the play", PLAY).tests
    assert [one for one in named if one[1] not in names_in(one[0])] == []
    assert len(set(named)) == len(named)
