"""Wi-Fi that loses, cuts and swallows: work goes on, and every record arrives once."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from playwright.sync_api import expect

from tests.browser.conftest import MakeTablet
from tests.browser.record import open_setup, record
from tests.support.bad_network import BadNetwork
from tests.support.server import Server


@pytest.fixture
def network(shared_shop: Server) -> Iterator[BadNetwork]:
    """The shared shop behind a network that behaves until it is told otherwise."""
    with BadNetwork(shared_shop.port) as started:
        Server.folders[started.url] = shared_shop.data
        yield started


def test_with_thirty_per_cent_loss_every_tick_is_on_the_server_once(
    shared_shop: Server, plate: str, network: BadNetwork, tablet: MakeTablet
) -> None:
    bench = tablet(network.url)
    bench.complaints.server_may_vanish = True
    bench.open()
    bench.start_setup(plate)
    network.mode = "lossy"
    bench.work_until("load/P1")
    bench.all_on_server()
    assert network.lost > 0
    network.mode = "whole"
    whole = record(shared_shop.url, open_setup(shared_shop.url, plate))
    (numbers,) = whole.numbers.values()
    assert numbers == [row["n"] for row in bench.rows("own")]
    assert set(whole.answers.values()) == {1}


def test_a_half_open_connection_stops_no_work_and_is_given_up_in_the_end(
    shared_shop: Server, plate: str, network: BadNetwork, tablet: MakeTablet
) -> None:
    bench = tablet(network.url)
    bench.complaints.server_may_vanish = True
    bench.open()
    bench.start_setup(plate)
    bench.all_on_server()
    network.mode = "half open"
    bench.work_until("clean/stop/S3")
    expect(bench.find("records")).to_have_attribute("data-kept", "4")
    network.mode = "whole"
    bench.all_on_server()
    whole = record(shared_shop.url, open_setup(shared_shop.url, plate))
    assert list(whole.numbers.values()) == [[1, 2, 3, 4, 5]]
