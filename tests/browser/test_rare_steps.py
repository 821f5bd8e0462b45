"""Steps that only some designs ask for: the hoist, and easing a clamp before the finishing cut."""

from __future__ import annotations

from pathlib import Path

import pytest
from playwright.sync_api import expect

from api.means import means_for
from api.paths import share
from api.settings import Settings
from api.storage.engine import Database
from api.storage.unit_of_work import SqlUnitOfWork
from api.use_cases import analyses, designs, plates
from tests.browser.conftest import MakeTablet
from tests.browser.halfway import half_done
from tests.browser.record import record, wait_for_verdict
from tests.browser.shop_folder import OWNER
from tests.support.server import Server

CODE, PLATE = "HVY-01", "HVY-01-001"


def heavy_design() -> str:
    """The saddle plate in steel, its first clamp eased for the finishing cut."""
    text = (share("seed_data") / "designs" / "SAD-20-B.toml").read_text()
    text = text.replace('code = "SAD-20"', f'code = "{CODE}"', 1)
    steel = 'size = ["450 mm", "300 mm", "25 mm"]\nmaterial = "1018"'
    text = text.replace('size = ["450 mm", "300 mm", "25 mm"]\nmaterial = "6061-T6"', steel, 1)
    return text.replace('torque = "12 N*m"\n', 'torque = "12 N*m"\nfinish_torque = "6 N*m"\n', 1)


def release(folder: Path) -> None:
    settings = Settings(data=folder, database_url="")
    database = Database(settings.database)
    try:
        uow, means = SqlUnitOfWork(database), means_for(settings)
        loaded = designs.load_design(uow, means, heavy_design(), OWNER)
        assert loaded.revision is not None, loaded
        job = analyses.take(uow, means, CODE, loaded.revision.revision)
        if job is not None:
            analyses.carry_out(uow, means, job)
        designs.release_revision(uow, means, CODE, loaded.revision.revision, OWNER)
        plates.add_plate(uow, PLATE, CODE, OWNER)
    finally:
        database.close()


@pytest.fixture
def heavy(shop: Server) -> Server:
    release(shop.data)
    return shop


def test_a_heavy_plate_hangs_on_the_hoist_before_it_is_locked(
    heavy: Server, tablet: MakeTablet
) -> None:
    other = half_done(heavy.url, "lift", plate=PLATE)
    bench = tablet(heavy.url)
    bench.open()
    bench.take_over(PLATE)
    bench.at("lift")
    bench.says("Lift with the hoist")
    bench.main()
    bench.at("lock")
    bench.all_on_server()
    assert len(record(heavy.url, other.setup).of_step("lift")) == 1


def test_a_clamp_with_a_finish_torque_is_eased_in_the_machine(
    heavy: Server, tablet: MakeTablet
) -> None:
    other = half_done(heavy.url, "sign", plate=PLATE)
    bench = tablet(heavy.url)
    bench.open()
    bench.take_over(PLATE)
    bench.at("sign")
    bench.pin("4101")
    bench.at("machine")
    bench.main()
    bench.at("ease/C1")
    expect(bench.find("number")).to_have_text("6.0")
    bench.main()
    bench.at("unload")
    bench.all_on_server()
    wait_for_verdict(heavy.url, other.setup)
    (eased,) = record(heavy.url, other.setup).of_step("ease/C1")
    assert eased["kind"] == "clamp tightened"
    assert eased["data"]["set"] == {"value": "6.0", "unit": "N*m"}
