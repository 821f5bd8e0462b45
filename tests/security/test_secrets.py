"""Keys, sealed PINs, hashes and tokens."""

from __future__ import annotations

import stat
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.hazmat.primitives.serialization import (
    Encoding,
    NoEncryption,
    PrivateFormat,
    load_pem_private_key,
)

from api.domain.errors import BadInput, Unavailable
from api.security.pins import ArgonPins
from api.security.sealing import KEY_FILE, PublicKey, load_or_make
from api.security.tokens import RandomTokens

INFO = b"clampbook-sign/1 setup hash"


def test_the_key_is_made_once_and_only_its_owner_may_read_it(tmp_path: Path) -> None:
    made = load_or_make(tmp_path / "keys")
    again = load_or_make(tmp_path / "keys")
    assert (again.key_id, again.public) == (made.key_id, made.public)
    assert stat.S_IMODE((tmp_path / "keys" / KEY_FILE).stat().st_mode) == 0o600
    assert [path.name for path in (tmp_path / "keys").iterdir()] == [KEY_FILE]


def test_the_public_key_is_an_uncompressed_point(tmp_path: Path) -> None:
    public = load_or_make(tmp_path).public
    assert (len(public), public[0]) == (65, 4)


def test_many_first_starts_at_once_end_with_one_key(tmp_path: Path) -> None:
    with ThreadPoolExecutor(8) as pool:
        keys = list(pool.map(lambda _: load_or_make(tmp_path).key_id, range(8)))
    assert len(set(keys)) == 1


def test_a_key_that_cannot_be_read_is_named_and_not_replaced(tmp_path: Path) -> None:
    (tmp_path / KEY_FILE).write_text("rubbish")
    with pytest.raises(Unavailable, match=KEY_FILE):
        load_or_make(tmp_path)
    assert (tmp_path / KEY_FILE).read_text() == "rubbish"


def test_a_key_of_another_kind_is_refused(tmp_path: Path) -> None:
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

    pem = Ed25519PrivateKey.generate().private_bytes(
        Encoding.PEM, PrivateFormat.PKCS8, NoEncryption()
    )
    (tmp_path / KEY_FILE).write_bytes(pem)
    with pytest.raises(Unavailable, match="another kind"):
        load_or_make(tmp_path)


def test_what_a_tablet_seals_opens_for_its_own_purpose_alone(tmp_path: Path) -> None:
    keys = load_or_make(tmp_path)
    sealed = PublicKey(keys.public).seal(b"4101", INFO)
    assert sealed[:1] == b"\x04"
    assert len(sealed) == 65 + 4 + 16
    assert keys.open(keys.key_id, sealed, INFO) == b"4101"
    for key_id, text, info in (
        ("0" * 16, sealed, INFO),
        (keys.key_id, sealed, INFO + b"x"),
        (keys.key_id, sealed[:-1] + b"\0", INFO),
        (keys.key_id, b"", INFO),
        (keys.key_id, b"\0" * 85, INFO),
    ):
        with pytest.raises(BadInput, match="sign again"):
            keys.open(key_id, text, info)


def test_another_servers_key_does_not_open_it(tmp_path: Path) -> None:
    one, other = load_or_make(tmp_path / "one"), load_or_make(tmp_path / "other")
    sealed = one.seal(b"4101", INFO)
    with pytest.raises(BadInput):
        other.open(other.key_id, sealed, INFO)


def test_the_key_file_is_plain_pkcs8(tmp_path: Path) -> None:
    load_or_make(tmp_path)
    key = load_pem_private_key((tmp_path / KEY_FILE).read_bytes(), None)
    assert isinstance(key, ec.EllipticCurvePrivateKey)
    assert isinstance(key.curve, ec.SECP256R1)


def test_pins_are_hashed_with_argon2id_at_the_agreed_cost() -> None:
    pins = ArgonPins()
    hashed = pins.hash("4101")
    assert hashed.startswith("$argon2id$v=19$m=19456,t=2,p=1$")
    assert pins.hash("4101") != hashed
    assert pins.verify("4101", hashed)
    assert not pins.verify("4102", hashed)
    assert not pins.verify("4101", "no hash")


def test_tokens_are_long_random_and_kept_as_digests() -> None:
    tokens = RandomTokens()
    one, other = tokens.new(), tokens.new()
    assert one != other
    assert len(one) >= 43
    assert tokens.digest(one) != one
    assert tokens.digest(one) == tokens.digest(one)
