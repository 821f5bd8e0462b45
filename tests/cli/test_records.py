from __future__ import annotations

import json
import stat
from pathlib import Path

import pytest
from sqlalchemy import text

from api.domain.records import Computation
from api.storage import migrate
from tests.cli.conftest import Run
from tests.support.analyses import sad_20
from tests.support.shop import PINS, Shop


def test_a_dump_holds_every_event_exactly_as_received(run: Run, shop: Shop, tmp_path: Path) -> None:
    out = tmp_path / "shop.jsonl"
    assert run("dump", "--out", out).exit_code == 0
    lines = [json.loads(line) for line in out.read_text().splitlines()]
    with shop.reader as uow:
        log = uow.events.after(0, 500)
    assert [one["text"] for one in lines if one["line"] == "event"] == [one.text for one in log]
    assert {one["line"] for one in lines} >= {"shop", "person", "revision", "plate", "item"}


def test_a_dump_holds_what_was_computed(run: Run, shop: Shop) -> None:
    _, analysis = sad_20()
    result, now = analysis.model_dump(mode="json"), shop.clock.now()
    with shop.uow as uow:
        uow.analyses.save(
            Computation(analysis.inputs, "1", "SAD-20", "B", now, now, "done", 1.0, result=result)
        )
        uow.commit()
    lines = [json.loads(line) for line in run("dump").output.splitlines()]
    assert [json.loads(one["result"]) for one in lines if one["line"] == "analysis"] == [result]


def test_a_dump_holds_no_secret_and_only_its_owner_may_read_it(
    run: Run, shop: Shop, tmp_path: Path
) -> None:
    out = tmp_path / "shop.jsonl"
    run("dump", "--out", out)
    written = out.read_text()
    with shop.reader as uow:
        hashes = [one.hash for one in uow.people.credentials()]
    assert hashes
    assert not [secret for secret in (*hashes, "argon2", "PRIVATE KEY") if secret in written]
    assert not [pin for pin in PINS.values() if f'"{pin}"' in written]
    assert stat.S_IMODE(out.stat().st_mode) == 0o600


def test_a_dump_without_a_file_goes_to_standard_output(run: Run, shop: Shop) -> None:
    result = run("dump")
    assert result.exit_code == 0
    assert json.loads(result.output.splitlines()[0])["line"] == "shop"


def test_commands_that_read_a_shop_say_so_when_there_is_none(run: Run, data: Path) -> None:
    for command in ("dump", "upgrade", "doctor"):
        result = run(command)
        assert result.exit_code == 1
        assert "There are no records" in result.output
        assert not data.exists()


def test_upgrading_a_shop_that_is_up_to_date_changes_nothing(run: Run, shop: Shop) -> None:
    result = run("upgrade")
    assert result.exit_code == 0
    assert "up to date already" in result.output


def test_records_of_a_newer_version_are_refused_by_every_command(run: Run, shop: Shop) -> None:
    with shop.database.writer.begin() as connection:
        connection.execute(text("UPDATE alembic_version SET version_num = '9999'"))
    assert migrate.current(shop.database) == "9999"
    for command in ("upgrade", "dump", "serve"):
        result = run(command)
        assert result.exit_code == 1
        assert "written by a newer Clampbook" in result.output


def test_an_unknown_database_engine_is_refused_with_the_setting_to_change(
    run: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("CLAMPBOOK_DATABASE_URL", "mysql://somewhere/shop")
    result = run("upgrade")
    assert result.exit_code == 1
    assert "CLAMPBOOK_DATABASE_URL" in result.output
    assert "postgresql://" in result.output
