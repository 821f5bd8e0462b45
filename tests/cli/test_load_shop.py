"""A whole shop moved with dump and load: between engines, with its chains, or not at all."""

from __future__ import annotations

import json
from collections.abc import Callable
from contextlib import closing
from dataclasses import replace
from pathlib import Path

import pytest

from api.security.checkpoint_file import open_notary
from api.settings import Settings
from api.storage.engine import Database
from api.storage.unit_of_work import SqlUnitOfWork
from api.use_cases.checkpoints import make_checkpoint
from tests.cli.proving import Verify
from tests.support import verifier
from tests.support.proving import Place, make_place
from tests.support.shop import Shop, make_shop


@pytest.fixture
def place(sqlite_url: str, tmp_path: Path) -> Place:
    made = make_place(sqlite_url, tmp_path / "place")
    made.database.close()
    return made


def at(place: Place, url: str, data: Path) -> Verify:
    """The commands as they work on another database and data folder."""
    there = replace(place, settings=Settings(data=data, database_url=url))
    return Verify(there, data.parent)


def dumped(verify: Verify, out: Path, *words: str) -> bytes:
    result = verify.run("dump", "--with-secrets", "--out", out, *words)
    assert result.exit_code == 0, result.output
    return out.read_bytes()


def test_a_shop_moves_to_postgresql_and_back_byte_for_byte_and_goes_on(
    place: Place, verify: Verify, postgres_url: str, tmp_path: Path
) -> None:
    first = dumped(verify, tmp_path / "1.jsonl")
    there = at(place, postgres_url, tmp_path / "there" / "data")
    loaded = there.run("load", tmp_path / "1.jsonl")
    assert loaded.exit_code == 0, loaded.output
    assert "Everything fits together." in loaded.output
    assert there().exit_code == 0, there().output
    assert dumped(there, tmp_path / "2.jsonl") == first

    back = at(place, f"sqlite:///{tmp_path / 'back.sqlite3'}", tmp_path / "back" / "data")
    assert back.run("load", tmp_path / "2.jsonl").exit_code == 0
    assert dumped(back, tmp_path / "3.jsonl") == first
    assert verifier.first_fault(tmp_path / "3.jsonl", back.place.folder) == ""

    for moved in (there, back):
        with closing(Database(moved.place.settings.database_url)) as database:
            goes_on(replace(place.shop, database=database), place)
        assert moved().exit_code == 0
        assert moved.everywhere() == ""


def goes_on(shop: Shop, place: Place) -> None:
    """The next event, something set aside, a hold: all take the numbers after those that came."""
    tablet = shop.tablet()
    tablet.n, tablet.prev, tablet.texts = place.tablet.n, place.tablet.prev, []
    tablet.write("note", None, text="in the new place")
    taken = shop.push(tablet, [*tablet.texts, "again no event"])
    assert [one.outcome for one in taken.results] == ["stored", "set aside"]
    with shop.uow as uow:
        assert uow.events.set_asides(1, 10).items[0].id == 2


def test_a_moved_shop_keeps_its_pins_and_its_lists(
    place: Place, verify: Verify, postgres_url: str, tmp_path: Path
) -> None:
    dumped(verify, tmp_path / "1.jsonl")
    kept = [held(place.settings.database_url)]
    for number, url in enumerate((f"sqlite:///{tmp_path / 'there.sqlite3'}", postgres_url)):
        there = at(place, url, tmp_path / f"there-{number}")
        assert there.run("load", tmp_path / "1.jsonl").exit_code == 0
        kept.append(held(url))
    assert kept[0] == kept[1] == kept[2]


def held(url: str) -> tuple[object, ...]:
    with closing(Database(url)) as database, SqlUnitOfWork(database, read_only=True) as uow:
        credentials = sorted(uow.people.credentials(), key=lambda one: one.badge)
        return credentials, uow.setups.all(), uow.shop.meta(), uow.events.chain_head()


def test_a_dump_without_secrets_says_what_is_missing(
    place: Place, verify: Verify, tmp_path: Path
) -> None:
    out = tmp_path / "open.jsonl"
    result = verify.run("dump", "--out", out)
    assert "nobody could sign in where it is loaded" in result.output
    assert "Not in it: the shop's private keys" in result.output
    assert "argon2" not in out.read_text()
    there = at(place, f"sqlite:///{tmp_path / 'there.sqlite3'}", tmp_path / "there")
    loaded = there.run("load", out)
    assert loaded.exit_code == 0
    assert "nobody can sign in" in loaded.output
    assert there().exit_code == 0


def test_a_filled_database_takes_no_dump(verify: Verify, tmp_path: Path) -> None:
    before = dumped(verify, tmp_path / "1.jsonl")
    result = verify.run("load", tmp_path / "1.jsonl")
    assert result.exit_code == 1
    assert "holds a shop already" in result.output
    assert dumped(verify, tmp_path / "2.jsonl") == before


CHANGES: dict[str, tuple[Callable[[list[str]], list[str]], str]] = {
    "an altered event": (
        lambda lines: [one.replace("12.0", "21.0") for one in lines],
        "was altered: its text does not fit its hash",
    ),
    "a missing line": (lambda lines: [*lines[:9], *lines[10:]], "it is not whole"),
    "a newer form": (
        lambda lines: [one.replace('"form":"0', '"form":"9') for one in lines],
        "written by a newer Clampbook",
    ),
    "an older form": (
        lambda lines: [lines[0].replace('"form":"0003"', '"form":"0002"'), *lines[1:]],
        "written by an older Clampbook",
    ),
    "an unknown field": (
        lambda lines: [one.replace('"active":', '"aktive":') for one in lines],
        "has a field",
    ),
    "a wrong kind": (
        lambda lines: [one.replace('"active":true', '"active":"yes"') for one in lines],
        "'active' is not of the right kind",
    ),
}


@pytest.mark.parametrize("what", CHANGES)
def test_a_dump_that_does_not_verify_leaves_nothing_behind(
    place: Place, verify: Verify, tmp_path: Path, what: str, postgres_url: str
) -> None:
    change, words = CHANGES[what]
    dumped(verify, tmp_path / "1.jsonl")
    lines = (tmp_path / "1.jsonl").read_text().splitlines(keepends=True)
    (tmp_path / "1.jsonl").write_text("".join(change(lines)))
    for number, url in enumerate((f"sqlite:///{tmp_path / 'there.sqlite3'}", postgres_url)):
        there = at(place, url, tmp_path / f"there-{number}")
        result = there.run("load", tmp_path / "1.jsonl")
        assert result.exit_code == 1
        assert words in result.output
        with closing(Database(url)) as database, SqlUnitOfWork(database, read_only=True) as uow:
            assert (uow.people.all(), uow.events.count(), uow.journal.count()) == ([], 0, 0)


def test_a_dump_is_loaded_alone(verify: Verify, tmp_path: Path) -> None:
    dumped(verify, tmp_path / "1.jsonl")
    result = verify.run("load", tmp_path / "1.jsonl", tmp_path / "1.jsonl")
    assert result.exit_code == 1
    assert "Load it alone" in result.output


def test_two_dumps_of_one_state_are_the_same_and_every_line_is_canonical(
    verify: Verify, tmp_path: Path
) -> None:
    first = dumped(verify, tmp_path / "1.jsonl")
    assert dumped(verify, tmp_path / "2.jsonl") == first
    for line in first.decode().removesuffix("\n").split("\n"):
        assert verifier.jcs(json.loads(line)) == line


def test_checkpoints_of_another_shop_refuse_the_dump(
    place: Place, verify: Verify, tmp_path: Path
) -> None:
    dumped(verify, tmp_path / "1.jsonl")
    settings = Settings(data=tmp_path / "other")
    other = make_shop(f"sqlite:///{tmp_path / 'other.sqlite3'}", settings.keys)
    notary = open_notary(settings.keys, settings.checkpoints_folder)
    make_checkpoint(other.uow, other.means, notary, "new shop")
    other.database.close()
    (tmp_path / "other.sqlite3").unlink()
    there = at(place, f"sqlite:///{tmp_path / 'other.sqlite3'}", tmp_path / "other")
    result = there.run("load", tmp_path / "1.jsonl")
    assert result.exit_code == 1
    assert "Nothing was loaded" in result.output
