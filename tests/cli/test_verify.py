"""`clampbook verify` on a sound shop, and on what a crash or a restore leaves behind."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from typer.testing import CliRunner

from api.cli import app
from api.domain.checkpoints import Checkpoint
from api.domain.events import hash_of
from api.security.checkpoint_file import CheckpointFile
from api.use_cases.checkpoints import begin_epoch, make_due_checkpoint
from api.use_cases.ports.notary import Notary
from tests.cli.proving import Verify
from tests.support.proving import Place
from tests.support.script import Tablet
from tests.support.server import Server


def test_a_sound_shop_is_told_calmly(place: Place, verify: Verify) -> None:
    live = verify()
    assert live.exit_code == 0, live.output
    assert "Everything fits together." in live.output
    assert "1 gap; these events have not come (yet):\n  tablet tab-2, 2" in live.output
    assert f"Met: 3 checkpoints in {place.file}" in live.output
    assert verify.everywhere() == ""


def test_a_dump_alone_says_that_nothing_outside_was_compared(verify: Verify) -> None:
    result = verify.dumped_alone()
    assert result.exit_code == 0, result.output
    assert "Not compared with checkpoints kept elsewhere" in result.output


def test_a_crash_between_file_and_journal_does_no_harm(place: Place, verify: Verify) -> None:
    class PowerCut(Exception):
        pass

    class Dying:
        """Publishes, and then there is no power."""

        def __init__(self, notary: Notary) -> None:
            self.key_id, self.sign = notary.key_id, notary.sign
            self.signed, self.published = notary.signed, notary.published
            self._publish = notary.publish

        def publish(self, checkpoint: Checkpoint) -> None:
            self._publish(checkpoint)
            raise PowerCut

    place.shop.clock.forward(90_000)
    with pytest.raises(PowerCut):
        make_due_checkpoint(place.shop.uow, place.shop.means, Dying(place.notary))
    assert len(place.file.read_text().splitlines()) == 4
    assert verify().exit_code == 0
    assert make_due_checkpoint(place.shop.uow, place.shop.means, place.notary) is not None
    assert "5 checkpoints" in verify().output
    assert verify.everywhere() == ""


def test_a_half_written_line_is_moved_aside_and_told(place: Place, verify: Verify) -> None:
    with place.file.open("ab") as file:
        file.write(b'{"at":"2026-11-')
    assert verify().exit_code == 0
    place.checkpoint()
    assert (place.folder / "checkpoints.torn").read_bytes() == b'{"at":"2026-11-\n'
    result = verify()
    assert result.exit_code == 0
    assert "1 half-written line in checkpoints.torn" in result.output
    assert verify.everywhere() == ""


def test_a_line_that_lacks_only_its_end_is_completed(place: Place, verify: Verify) -> None:
    whole = place.file.read_bytes()
    place.file.write_bytes(whole.removesuffix(b"\n"))
    place.checkpoint()
    assert place.file.read_bytes().startswith(whole)
    assert not (place.folder / "checkpoints.torn").exists()
    assert verify().exit_code == 0


def test_a_restore_names_what_it_gave_up(place: Place, verify: Verify) -> None:
    copy = verify.copy_of_database()
    place.note("lost")
    place.checkpoint("before the loss")
    verify.put_back(copy)
    told = {"backup": "clampbook-1"}
    begin_epoch(place.shop.uow, place.shop.means, place.notary, None, told)
    result = verify()
    assert result.exit_code == 0, result.output
    assert "1 checkpoint of an earlier epoch, beyond what was restored" in result.output
    assert verify.everywhere() == ""


def test_a_second_restore_of_the_same_copy_gives_up_the_first(place: Place, verify: Verify) -> None:
    copy = verify.copy_of_database()
    for _ in range(2):
        place.note("lost")
        place.checkpoint("before the loss")
        place.tablet.n, place.tablet.prev = place.tablet.n - 1, before_last(place.tablet)
        verify.put_back(copy)
        begin_epoch(place.shop.uow, place.shop.means, place.notary, None, {})
    result = verify()
    assert result.exit_code == 0, result.output
    assert "3 checkpoints of an earlier epoch, beyond what was restored" in result.output
    assert verify.everywhere() == ""


def before_last(tablet: Tablet) -> str:
    """The tablet forgets its last event, as one that was made anew from the server would."""
    tablet.texts.pop()
    return hash_of(tablet.texts[-1])


def test_a_restore_in_a_new_place_begins_the_file_there(place: Place, verify: Verify) -> None:
    before = place.file.read_text()
    place.file.unlink()
    begin_epoch(place.shop.uow, place.shop.means, place.notary, None, {})
    assert place.file.read_text().startswith(before)
    result = verify()
    assert result.exit_code == 0, result.output
    assert verify.everywhere() == ""


def test_an_older_copy_put_back_without_a_restore_is_found(place: Place, verify: Verify) -> None:
    copy = verify.copy_of_database()
    place.note("lost")
    place.checkpoint("before the loss")
    verify.put_back(copy)
    assert "the end was cut off" in verify().output
    assert verify.everywhere() != ""


def test_a_restore_without_the_shops_key_is_found(place: Place, verify: Verify) -> None:
    with place.shop.uow as uow:
        seq, head = uow.events.chain_head()
        body = {"epoch": "e", "from": uow.shop.meta().epoch, "given_up": [], "head": head}
        uow.journal.add(
            "restored",
            "e",
            {
                **body,
                "key": place.notary.key_id,
                "seq": seq,
                "signature": place.notary.sign("another"),
            },
            place.shop.clock.now(),
        )
        uow.shop.set_epoch("e")
        uow.commit()
    assert "(restored) is not signed by the shop" in verify().output
    assert "not signed by the shop" in verify.everywhere()


def test_an_unreadable_dump_is_refused_with_its_line(verify: Verify, tmp_path: Path) -> None:
    file = tmp_path / "odd.jsonl"
    for content, words in (
        ("", "breaks off after line 0"),
        ('{"line":"event"}\n', "first line of a dump"),
        ("what\n", "Line 1 is no line of a dump"),
        ('{"dump":9,"line":"shop"}\n', "newer Clampbook"),
    ):
        file.write_text(content)
        result = verify.file(file)
        assert result.exit_code == 1
        assert words in result.output


def test_a_dump_cut_anywhere_is_not_whole(verify: Verify, tmp_path: Path) -> None:
    lines = verify.dump().read_text().splitlines(keepends=True)
    short = tmp_path / "short.jsonl"
    short.write_text("".join(lines[:-1]))
    assert "breaks off" in verify.file(short).output
    short.write_text("".join([*lines[:-3], lines[-1]]))
    assert "not whole" in verify.file(short).output
    short.write_text("".join([lines[0].replace(":", ": ", 1), *lines[1:]]))
    assert "Line 1 is not written as a dump writes it" in verify.file(short).output


def test_a_server_publishes_a_checkpoint_at_its_first_start_and_is_verified_while_it_runs(
    server: Callable[..., Server], tmp_path: Path
) -> None:
    running = server(tmp_path / "data").start()
    outside = CheckpointFile(tmp_path / "data/checkpoints")
    assert [one.why for one in outside.lines() if isinstance(one, Checkpoint)] == ["new shop"]
    result = CliRunner().invoke(app, ["verify", "--data", str(tmp_path / "data")])
    assert result.exit_code == 0, result.output
    running.kill()
    running.start()
    assert len(list(outside.lines())) == 1
    assert CliRunner().invoke(app, ["verify", "--data", str(tmp_path / "data")]).exit_code == 0
