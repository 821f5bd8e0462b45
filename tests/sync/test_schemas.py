"""Every schema of events ever released is taken; the texts are frozen as tablets wrote them."""

from __future__ import annotations

import json
from pathlib import Path
from typing import get_args

import pytest

from api.domain.event_data import Kind
from api.domain.events import SCHEMA, parse
from api.use_cases.setups import get_setup
from tests.support.shop import SETUP, Shop

VECTORS = Path(__file__).parents[1] / "vectors"
RELEASED = range(1, SCHEMA + 1)
ELSEWHERE = {"clamp moved on re-check", "abandoned", "conflict resolved"}


def texts(schema: int) -> list[str]:
    found: list[str] = json.loads((VECTORS / f"events-schema-{schema}.json").read_text())
    return found


@pytest.mark.parametrize("schema", RELEASED)
def test_the_server_takes_every_released_schema(shop: Shop, schema: int) -> None:
    tablet, sent = shop.tablet(), texts(schema)
    taken = shop.push(tablet, sent)
    assert {one.outcome for one in taken.results} == {"stored"}
    assert taken.contiguous == len(sent)
    record = get_setup(shop.reader, SETUP)
    assert [one.stored.text for one in record.events] == sent
    assert {one.event.schema_ for one in record.events} == {schema}
    assert record.state.odd == []
    assert len(record.signatures) == 2


@pytest.mark.parametrize("schema", RELEASED)
def test_the_frozen_texts_hold_nearly_every_kind(schema: int) -> None:
    assert {parse(text).kind for text in texts(schema)} == set(get_args(Kind)) - ELSEWHERE
