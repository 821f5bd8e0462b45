"""Events are taken exactly as sent, or refused with the field that is wrong."""

from __future__ import annotations

import json
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from api.domain.errors import EventError
from api.domain.events import at_utc, covered_hash, hash_of, parse, value_mm
from tests.support.scenarios import SETUP
from tests.support.script import Tablet


def raw(**changes: Any) -> dict[str, Any]:
    event = Tablet("tab-1", setup=SETUP).reading("read/A/torqued locked", "0.030")
    return {**event.model_dump(by_alias=True), **changes}


def refused(value: object) -> str:
    with pytest.raises(EventError) as caught:
        parse(value if isinstance(value, str) else json.dumps(value))
    return caught.value.message


def test_a_reading_keeps_its_decimals() -> None:
    assert parse(json.dumps(raw())).data["value"] == "0.030"


def test_the_hash_is_over_the_bytes_and_not_the_meaning() -> None:
    assert hash_of('{"a": 1}') != hash_of('{"a":1}')
    assert hash_of("") == "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855"


def test_the_covered_hash_depends_on_the_order() -> None:
    assert covered_hash(["a", "b"]) != covered_hash(["b", "a"])


def test_fields_a_later_build_adds_are_kept() -> None:
    later = raw(data={**raw()["data"], "temperature": {"value": "21.5", "unit": "degC"}}, extra=1)
    assert parse(json.dumps(later)).data["temperature"]["value"] == "21.5"


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"id": "not-a-uuid"}, "id"),
        ({"n": 0}, "n"),
        ({"n": 2.5}, "n"),
        ({"prev": "00"}, "prev"),
        ({"kind": "finished everything"}, "kind"),
        ({"at": "yesterday"}, "at"),
        ({"at": "2026-02-30T10:00:00.000Z"}, "at"),
        ({"elapsed": -1}, "elapsed"),
        ({"schema": 0}, "schema"),
        ({"person": "<script>"}, "person"),
        ({"tablet": ""}, "tablet"),
        ({"step": None}, "step"),
        ({"data": []}, "data"),
    ],
)
def test_a_wrong_field_is_named(changes: dict[str, Any], field: str) -> None:
    assert field in refused(raw(**changes))


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"value": "0,03"}, "value"),
        ({"value": "NaN"}, "value"),
        ({"value": 0.03}, "value"),
        ({"unit": "cm"}, "unit"),
        ({"entry": 3}, "entry"),
        ({"source": "guess"}, "source"),
    ],
)
def test_a_wrong_reading_is_named(changes: dict[str, Any], field: str) -> None:
    assert field in refused(raw(data={**raw()["data"], **changes}))


@pytest.mark.parametrize(
    "text",
    ["", "null", "[]", "{", "{}", '{"id": NaN}', '{"id":1,"id":2}', "\ud800", "[" * 5000],
)
def test_rubbish_is_refused_with_a_sentence(text: str) -> None:
    assert refused(text).endswith(".")


def test_a_deep_event_is_refused_before_it_is_decoded() -> None:
    assert "nested" in refused('{"a":' * 5000 + "1" + "}" * 5000)


def test_an_event_past_the_size_is_refused() -> None:
    assert "at most" in refused(raw(data={**raw()["data"], "raw": "x" * 70_000}))


def test_a_reason_must_say_something() -> None:
    data = {"refers": SETUP, "reason": "  "}
    assert "reason" in refused(raw(kind="correction", data=data))


def test_an_addition_must_be_a_whole_correction_note_or_reading() -> None:
    assert "refers" in refused(raw(kind="after-signature addition", data={"adds": "correction"}))


def test_the_time_of_the_tap_is_corrected_by_the_known_offset() -> None:
    event = parse(json.dumps(raw(at="2026-11-24T10:00:00.000Z", clock_offset=-60_000)))
    assert at_utc(event).isoformat() == "2026-11-24T09:59:00+00:00"


@pytest.mark.parametrize(
    ("value", "unit", "mm"), [("0.0005", "in", 0.0127), ("-0.03", "mm", -0.03), ("1", "in", 25.4)]
)
def test_readings_are_compared_in_millimetres(value: str, unit: str, mm: float) -> None:
    assert value_mm(value, unit) == pytest.approx(mm, rel=1e-12)


@given(st.text(max_size=300))
def test_any_text_is_taken_or_refused_but_never_breaks(text: str) -> None:
    try:
        parse(text)
    except EventError as refusal:
        assert refusal.message
