"""Clamp specs of the stores, and their use by designs."""

from __future__ import annotations

from typing import Any

import pytest

from api.domain.designs.specs import read_spec
from api.domain.errors import BadInput
from api.domain.stores import StoredSpec
from tests.domain.designs.examples import BASE, changed, finding, read, seeded, stores

DOCUMENT: dict[str, Any] = next(row for row in seeded("specs") if row["id"] == "m8-taper")[
    "document"
]


def without_own_spec() -> str:
    start, end = BASE.index("[[spec]]"), BASE.index("[[clamp]]")
    return BASE[:start] + BASE[end:]


def holding(document: dict[str, Any]) -> dict[str, StoredSpec]:
    item = StoredSpec(
        id="m8-taper", title="M8 taper clamp", document=document, source="own drawing"
    )
    return {"m8-taper": item}


@pytest.mark.parametrize("row", seeded("specs"), ids=lambda row: str(row["id"]))
def test_every_spec_of_the_demonstration_stores_is_complete(row: dict[str, Any]) -> None:
    assert read_spec(row["document"]).id == row["id"]


def test_a_design_may_name_a_spec_of_the_stores() -> None:
    assert read(without_own_spec()).findings == []


def test_a_spec_of_the_stores_limits_the_torque_too() -> None:
    weak = DOCUMENT | {"rated": {"torque": "10 N*m"}}
    found = [
        each
        for each in read(without_own_spec(), stores(specs=holding(weak))).findings
        if each.code == "torque-above-cap"
    ]
    assert [each.subject for each in found] == ["clamp C1", "clamp C2"]
    assert "the rating of m8-taper" in found[0].message


def test_a_spec_in_the_design_hides_that_of_the_stores() -> None:
    weak = DOCUMENT | {"rated": {"torque": "10 N*m"}}
    assert read(BASE, stores(specs=holding(weak))).findings == []


def test_a_spec_of_the_stores_that_cannot_be_read_is_named() -> None:
    broken = DOCUMENT | {"thread": "M7"}
    found = finding(without_own_spec(), "stored-spec", stores(specs=holding(broken)))
    assert "the thread 'M7' is not in the table" in found.message


@pytest.mark.parametrize(
    ("change", "says", "field"),
    [
        ({"half_angle": "10 mm"}, "is a length, but an angle is due", "half_angle"),
        ({"kind": "magnet"}, "kind is 'magnet'", "kind"),
        ({"lubricant": None}, "a cone spec needs lubricant", "lubricant"),
        ({"force": [["5 N*m", "2 kN"], ["9 N*m", "4 kN"]]}, "only a measured spec has", "force"),
        ({"rated": {"torque": 15}}, "15 has no unit", "rated.torque"),
    ],
)
def test_an_incomplete_spec_says_what_is_wrong(
    change: dict[str, Any], says: str, field: str
) -> None:
    with pytest.raises(BadInput) as refused:
        read_spec(DOCUMENT | change)
    assert says in refused.value.message
    assert refused.value.where["field"] == field


def test_a_design_without_any_known_spec_lists_what_there_is() -> None:
    text = changed('id = "C1"\nspec = "m8-taper"', 'id = "C1"\nspec = "m5"')
    assert "name one of m8-taper" in finding(text, "unknown-spec").fix
