"""The shop's signing key, and the file that is only ever added to."""

from __future__ import annotations

import stat
from dataclasses import replace
from pathlib import Path

import pytest

from api.domain.checkpoints import Checkpoint
from api.domain.errors import Unavailable
from api.security import signing
from api.security.checkpoint_file import CheckpointFile, ShopNotary, open_notary

HEAD = "ab" * 32


def signed(notary: ShopNotary, seq: int = 1) -> Checkpoint:
    at = f"2026-11-25T08:00:{seq:02d}.000000Z"
    plain = Checkpoint(at, seq, "epoch", HEAD, notary.key_id, seq, "test")
    return replace(plain, signature=notary.sign(plain.signed_text))


def test_the_key_is_made_once_and_its_owners_alone(tmp_path: Path) -> None:
    first, second = (signing.load_or_make(tmp_path / "keys") for _ in range(2))
    assert first.public == second.public
    assert stat.S_IMODE((tmp_path / "keys/signing.pem").stat().st_mode) == 0o600
    assert signing.signed(second.public, "text", first.sign("text"))
    assert not signing.signed(second.public, "texts", first.sign("text"))
    assert not signing.signed(second.public, "text", "no signature")


def test_a_broken_or_foreign_key_file_is_named(tmp_path: Path) -> None:
    (tmp_path / "signing.pem").write_text("no key")
    with pytest.raises(Unavailable, match=r"signing\.pem cannot be read"):
        signing.load_or_make(tmp_path)


def test_what_an_earlier_key_signed_is_still_known(tmp_path: Path) -> None:
    old = open_notary(tmp_path / "keys", tmp_path / "checkpoints")
    first = signed(old)
    old.publish(first)
    (tmp_path / "keys/signing.pem").unlink()
    new = open_notary(tmp_path / "keys", tmp_path / "checkpoints")
    assert new.key_id != old.key_id
    assert new.signed(first.key, first.signed_text, first.signature) is True
    assert new.signed(first.key, f"{first.signed_text} ", first.signature) is False
    assert new.signed("0" * 16, first.signed_text, first.signature) is None


def test_lines_are_added_in_order_and_read_back(tmp_path: Path) -> None:
    notary = open_notary(tmp_path / "keys", tmp_path / "checkpoints")
    made = [signed(notary, seq) for seq in (1, 2, 3)]
    for one in made:
        notary.publish(one)
    assert list(notary.published()) == made
    assert stat.S_IMODE((tmp_path / "checkpoints/checkpoints.jsonl").stat().st_mode) == 0o600


def test_a_line_in_the_middle_that_is_none_comes_as_a_sentence(tmp_path: Path) -> None:
    notary = open_notary(tmp_path / "keys", tmp_path)
    notary.publish(signed(notary))
    file = CheckpointFile(tmp_path)
    file.path.write_bytes(b"odd\n" + file.path.read_bytes())
    first, second = file.lines()
    assert "line 1 of" in str(first)
    assert second == signed(notary)


def test_a_folder_that_cannot_be_written_is_named_with_what_to_do(tmp_path: Path) -> None:
    notary = open_notary(tmp_path / "keys", tmp_path / "keys/signing.pem/checkpoints")
    with pytest.raises(Unavailable, match="Correct the folder's owner and rights"):
        notary.publish(signed(notary))


def test_only_what_is_all_there_is_is_taken_as_stated(tmp_path: Path) -> None:
    notary = open_notary(tmp_path / "keys", tmp_path / "checkpoints")
    one = signed(notary)
    public = signing.load_or_make(tmp_path / "keys").public
    for take, told in ((True, True), (False, None)):
        keys = signing.KnownKeys([tmp_path / "empty"], take_stated=take)
        keys.state(public)
        assert keys.signed(one.key, one.signed_text, one.signature) is told
