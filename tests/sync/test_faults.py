"""What may go wrong on the way in: many senders, failing commits, and the invariants after it."""

from __future__ import annotations

import random
from concurrent.futures import ThreadPoolExecutor
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from api.domain.errors import Unavailable
from api.domain.proof import first_fault
from api.domain.records import PointReading, SetupSummary
from api.storage.unit_of_work import SqlUnitOfWork
from api.use_cases import records
from api.use_cases.proof import written
from tests.support.script import Tablet
from tests.support.shop import STEPS, Shop

Projections = tuple[list[SetupSummary], list[PointReading], dict[str, int]]


def projections(shop: Shop) -> Projections:
    with shop.reader as uow:
        readings = sorted(uow.setups.readings(), key=lambda one: one.event)
        return uow.setups.all(), readings, uow.setups.pulls()


def assert_sound(shop: Shop, sent: list[str]) -> None:
    """Every text sent is there once, chains verify, and projections equal rebuilt ones."""
    with shop.reader as uow:
        stored = uow.events.after(0, 100_000)
    assert sorted(one.text for one in stored) == sorted(sent)
    assert len({(one.tablet, one.n) for one in stored}) == len(stored)
    with shop.reader as uow:
        assert first_fault(written(uow))[0] == ""
    live = projections(shop)
    records.rebuild(shop.uow)
    assert projections(shop) == live


def setup_id(number: int) -> str:
    return f"01920000-0000-7000-8000-{number:012d}"


def whole_setup(shop: Shop, number: int = 1, tablet: str = "tab-1") -> Tablet:
    made = shop.tablet(tablet, setup=setup_id(number))
    events = [made.open(), *made.work(STEPS, "sign")]
    shop.sign(made, events, "4101")
    made.write("step done", "machine")
    made.write("step done", "unload", good=1, scrap=0)
    return made


def send(shop: Shop, tablet: Tablet, texts: list[Any]) -> records.Accepted:
    return shop.push(tablet, texts)


def test_sixteen_senders_of_the_same_events_store_them_once(shop: Shop) -> None:
    tablet = whole_setup(shop)
    with ThreadPoolExecutor(16) as pool:
        taken = list(pool.map(lambda _: send(shop, tablet, tablet.texts), range(16)))
    for index in range(len(tablet.texts)):
        outcomes = [one.results[index].outcome for one in taken]
        assert sorted(outcomes) == ["already"] * 15 + ["stored"]
        assert len({one.results[index].seq for one in taken}) == 1
    assert_sound(shop, tablet.texts)


def test_sixteen_tablets_on_sixteen_setups_at_once_lose_nothing(shop: Shop) -> None:
    tablets = [whole_setup(shop, number, f"tab-{number}") for number in range(16)]
    with ThreadPoolExecutor(16) as pool:
        list(pool.map(lambda one: send(shop, one, one.texts), tablets))
    assert_sound(shop, [text for one in tablets for text in one.texts])


def test_sixteen_senders_of_rubbish_keep_it_once(shop: Shop) -> None:
    tablet = shop.tablet()
    with ThreadPoolExecutor(16) as pool:
        taken = list(pool.map(lambda _: send(shop, tablet, ["rubbish"]), range(16)))
    assert {one.results[0].outcome for one in taken} == {"set aside"}
    with shop.reader as uow:
        assert uow.events.set_asides(1, 10).total == 1


def test_two_tablets_on_one_setup_at_once_end_in_the_rebuilt_state(shop: Shop) -> None:
    one = shop.tablet("tab-1", setup=setup_id(1))
    other = shop.tablet("tab-2", setup=setup_id(1), person="B-02")
    one.open()
    list(one.work(STEPS, "recheck/C2"))
    list(other.work(STEPS, "recheck/C2"))
    send(shop, one, one.texts[:1])

    def in_pieces(tablet: Tablet) -> None:
        for text in tablet.texts:
            send(shop, tablet, [text])

    with ThreadPoolExecutor(2) as pool:
        list(pool.map(in_pieces, (one, other)))
    assert_sound(shop, one.texts + other.texts)


def test_a_shuffled_setup_in_random_batches_ends_in_the_rebuilt_state(shop: Shop) -> None:
    for seed in range(3):
        chance = random.Random(seed)
        tablet = whole_setup(shop, seed, f"tab-{seed}")
        texts = tablet.texts * 2
        chance.shuffle(texts)
        while texts:
            size = chance.randint(1, 9)
            send(shop, tablet, texts[:size])
            texts = texts[size:]
    with shop.reader as uow:
        phases = [one.phase for one in uow.setups.all()]
    assert phases == ["finished"] * 3
    live = projections(shop)
    records.rebuild(shop.uow)
    assert projections(shop) == live


class FailingCommit(SqlUnitOfWork):
    """Commits that fail from the third on, as on a full disk."""

    left = 3

    def commit(self) -> None:
        self.left -= 1
        if self.left < 0:
            raise Unavailable("the disk is full")
        super().commit()


def test_a_failed_commit_is_no_stored_outcome_and_sending_again_completes(shop: Shop) -> None:
    tablet = whole_setup(shop)
    with pytest.raises(Unavailable):
        records.accept_events(
            FailingCommit(shop.database),
            shop.means,
            tablet.name,
            "test",
            tablet.texts,
            tablet.sigs(),
        )
    with shop.reader as uow:
        assert len(uow.events.after(0, 1000)) == 3
    taken = send(shop, tablet, tablet.texts)
    assert [one.outcome for one in taken.results[:4]] == ["already"] * 3 + ["stored"]
    assert_sound(shop, tablet.texts)


def fill(uow: SqlUnitOfWork, shop: Shop, tablet: Tablet) -> None:
    records.accept_events(
        uow, shop.means, tablet.name, "b", tablet.texts, tablet.sigs(), policy=records.BY_CALLER
    )


def test_a_whole_shop_in_one_transaction_equals_one_event_at_a_time(shop: Shop) -> None:
    tablets = [whole_setup(shop, number, f"tab-{number}") for number in range(3)]
    uow = shop.uow
    with uow:
        for one in tablets:
            fill(uow, shop, one)
        uow.commit()
    assert_sound(shop, [text for one in tablets for text in one.texts])


def test_nothing_of_an_uncommitted_filling_remains(shop: Shop) -> None:
    tablet = whole_setup(shop)
    uow = shop.uow
    with uow:
        fill(uow, shop, tablet)
    assert_sound(shop, [])


JSON = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=20),
    lambda inner: (
        st.lists(inner, max_size=4) | st.dictionaries(st.text(max_size=8), inner, max_size=4)
    ),
    max_leaves=8,
)


@settings(
    max_examples=30,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)
@given(data=st.data())
def test_events_with_any_field_changed_never_stop_the_batch(
    shop: Shop, data: st.DataObject
) -> None:
    """Whatever a field holds, the answer names an outcome and the log stays sound."""
    import json
    import uuid

    tablet = shop.tablet(f"t-{uuid.uuid4().hex[:12]}", setup=str(uuid.uuid4()))
    list(tablet.work(STEPS, "sign"))
    text = data.draw(st.sampled_from(tablet.texts))
    raw = json.loads(text) | {"id": str(uuid.uuid4())}
    where = raw if data.draw(st.booleans()) else raw["data"]
    name = data.draw(st.sampled_from([*where, "extra"]) if where else st.just("extra"))
    where[name] = data.draw(JSON)
    tablet.open()
    taken = send(shop, tablet, [tablet.texts[-1], json.dumps(raw), *tablet.texts[:2]])
    assert all(one.outcome in ("stored", "set aside", "already") for one in taken.results)
    live = projections(shop)
    records.rebuild(shop.uow)
    assert projections(shop) == live
