"""The document of a design: written back without loss, hashed, described by a schema."""

from __future__ import annotations

import json
import tomllib
from typing import Any

import jsonschema_rs
import pytest
from hypothesis import given
from hypothesis import strategies as st

from api.domain.designs.document import Design
from api.domain.designs.hashing import canonical_json, document_hash
from api.domain.designs.schema import design_schema
from api.domain.designs.writing import write_design
from api.paths import share
from tests.domain.designs.examples import BASE, changed, read, stores

SEEDS = sorted(path.stem for path in (share("seed_data") / "designs").glob("*.toml"))


def seed(name: str) -> str:
    return (share("seed_data") / "designs" / f"{name}.toml").read_text("utf-8")


plain = st.one_of(
    st.text(st.characters(exclude_categories=["Cs"]), max_size=20),
    st.integers(-(2**53), 2**53),
    st.floats(allow_nan=False, allow_infinity=False),
    st.booleans(),
)
names = st.text(st.characters(exclude_categories=["Cs"]), max_size=12)
values = st.recursive(
    plain,
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(names, inner, max_size=4),
    max_leaves=12,
)


@given(st.dictionaries(names, values, max_size=6))
def test_any_document_survives_writing_and_reading(document: dict[str, Any]) -> None:
    assert tomllib.loads(write_design(document)) == document


@pytest.mark.parametrize("name", SEEDS)
def test_a_demonstration_design_survives_writing_with_its_hash(name: str) -> None:
    document = tomllib.loads(seed(name))
    written = write_design(document)
    assert tomllib.loads(written) == document
    assert document_hash(tomllib.loads(written)) == document_hash(document)
    assert [each.code for each in read(written).findings] == [
        each.code for each in read(seed(name)).findings
    ]


def test_a_written_design_keeps_the_order_of_the_form() -> None:
    document = tomllib.loads(BASE)
    shuffled = dict(sorted(document.items(), reverse=True))
    written = write_design(shuffled)
    headers = [
        line for line in written.splitlines() if line.startswith("[") and not line.endswith("],")
    ]
    assert list(dict.fromkeys(headers)) == [
        "[part]",
        "[plate]",
        "[receivers]",
        "[[stop]]",
        "[[spec]]",
        "[[clamp]]",
        "[[station]]",
        "[[point]]",
        "[tightening]",
    ]


def test_a_design_keeps_its_document_as_it_was() -> None:
    reading = read(BASE)
    assert reading.design is not None
    assert reading.design.document == tomllib.loads(BASE)
    again = Design.from_document(json.loads(json.dumps(reading.design.document)))
    assert again == reading.design


# {"b":1,"a":"é"} in RFC 8785 form; the hash was made with sha256sum over these bytes.
def test_the_hash_is_taken_over_canonical_json() -> None:
    document = {"b": 1.0, "a": "é"}
    assert canonical_json(document) == '{"a":"é","b":1}'.encode()
    assert document_hash(document) == document_hash({"a": "é", "b": 1})
    assert document_hash(document) != document_hash({"a": "é", "b": 2})
    assert (
        document_hash(document)
        == "aa58fba8483623bed37c1b02edfccbdd9a53123837c20bfa4cb4049993a2872e"
    )


def test_comments_and_the_order_of_keys_do_not_move_the_hash() -> None:
    moved = BASE.replace(
        'code = "TST-01"\nrevision = "A"', '# a remark\nrevision = "A"\ncode = "TST-01"'
    )
    assert document_hash(tomllib.loads(moved)) == document_hash(tomllib.loads(BASE))
    other = changed('torque = "12 N*m"', 'torque = "12.0 N*m"')
    assert document_hash(tomllib.loads(other)) != document_hash(tomllib.loads(BASE))


@pytest.mark.parametrize("name", SEEDS)
def test_the_schema_accepts_the_demonstration_designs(name: str) -> None:
    assert jsonschema_rs.validator_for(design_schema()).is_valid(tomllib.loads(seed(name)))


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ('torque = "12 N*m"\n\n', "torque = 12\n\n"),
        ('code = "TST-01"\n', ""),
        ('kind = "cone"', 'kind = "magnet"'),
        ('pull = "15 kN"', 'pull = "15 kN"\ncolour = "red"'),
        ('limit = "0.10 mm"', "limit = 0.10"),
        ("passes = [0.3, 0.7, 1.0]", "passes = []"),
    ],
)
def test_the_schema_refuses_what_the_reader_refuses(old: str, new: str) -> None:
    text = changed(old, new)
    validator = jsonschema_rs.validator_for(design_schema())
    assert validator.is_valid(tomllib.loads(BASE))
    assert not validator.is_valid(tomllib.loads(text))
    assert read(text).design is None


def test_the_schema_says_nothing_that_toml_cannot_say() -> None:
    assert '"null"' not in json.dumps(design_schema())


@pytest.mark.parametrize("name", SEEDS)
def test_the_demonstration_designs_have_no_stop(name: str) -> None:
    reading = read(seed(name), stores())
    assert reading.design is not None
    assert reading.stops == []


def test_the_demonstration_designs_are_what_they_are_said_to_be() -> None:
    saddle, ring = read(seed("SAD-20-B")).design, read(seed("CLR-08-A")).design
    assert saddle is not None
    assert ring is not None
    assert len(saddle.stations) == len(saddle.clamps) == 8
    assert {station.shape for station in saddle.stations} == {"block"}
    assert {stop.undercut.value for stop in saddle.stops} == {0.0}
    assert {station.shape for station in ring.stations} == {"round"}
    assert all(stop.undercut.value > 0 for stop in ring.stops)
    clamps = {clamp.id for clamp in ring.clamps}
    assert any(set(station.between) <= clamps for station in ring.stations)
    assert ring.points[0].limit.low.mm != -ring.points[0].limit.high.mm
