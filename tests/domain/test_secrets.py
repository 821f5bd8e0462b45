"""Which PINs and passwords are refused because anybody would try them first."""

from __future__ import annotations

import pytest

from api.domain.common_words import WORDS
from api.domain.errors import BadInput
from api.domain.secrets import check_password, check_pin, is_guessable_password, is_guessable_pin

COMMON = """
password1 Password123! P@ssw0rd passw0rd1 12345678 qwertyuiop 1q2w3e4r 1qaz2wsx iloveyou1 sunshine99
abcabcab 11111111 19840711 07111984 trustno1 monkey123 letmein! welcome2026 Summer2026! qwerty123456
football1 dragonball 87654321 q1w2e3r4 987654321 asdfghjkl abcd1234 a1b2c3d4 12341234 michael1
superman1 00000000 baseball1 computer admin123 zaq12wsx princess1 zxcvbnm1 password.1 1password
""".split()
GOOD = [
    "quiet corner",
    "kettle oboe 41 tram",
    "x7Kp-2mQz",
    "moss-tin-lantern",
    "8391047562",
    "zbvxkqpw",
    "ein sehr leiser Wecker",
    "пять тихих ламп",
    "静かな朝の光と風の音",
    "kp#vn.ty!x",
]


@pytest.mark.parametrize("password", COMMON)
def test_a_common_password_is_refused(password: str) -> None:
    with pytest.raises(BadInput, match="first that anybody tries"):
        check_password(password, "B-01")


@pytest.mark.parametrize("password", GOOD)
def test_any_kind_of_characters_makes_a_password(password: str) -> None:
    check_password(password, "B-01")


def test_sixty_four_and_more_characters_are_taken() -> None:
    words = "moss tin lantern oboe kettle tram " * 3
    check_password(f"{words}and a last one", "B-01")


@pytest.mark.parametrize(
    "password", ["B-01B-01", "b01-b01-b01", "LEAD-007-1", "clampbook2026", "Clampbook-B-01"]
)
def test_the_badge_and_this_programs_name_are_no_password(password: str) -> None:
    badge = "LEAD-007" if password.startswith("LEAD") else "B-01"
    assert is_guessable_password(password, badge)


def test_the_common_words_stand_for_more_than_three_thousand_passwords() -> None:
    made = {
        f"{word}{end}"
        for word in WORDS
        for end in ("", "1", "12", "123", "2026", "!", "99", "007", "123!", "2025")
        if len(f"{word}{end}") >= 8
    }
    assert len(made) > 3000
    assert [one for one in made if not is_guessable_password(one, "B-01")] == []


@pytest.mark.parametrize(
    "pin",
    "1234 4321 9876 1212 1221 1122 2580 2026 1984 7890 123456 112233 121212 010190 0101".split(),
)
def test_a_pin_with_a_pattern_is_refused(pin: str) -> None:
    with pytest.raises(BadInput, match="first that anybody tries"):
        check_pin(pin, "B-01")


@pytest.mark.parametrize("pin", ["4101", "7319", "4120", "83920", "591037", "40718263"])
def test_digits_without_a_pattern_make_a_pin(pin: str) -> None:
    check_pin(pin, "B-01")


def test_the_digits_of_the_badge_are_no_pin() -> None:
    with pytest.raises(BadInput):
        check_pin("4109", "B-4109")


def test_most_pins_are_left_to_choose_from() -> None:
    refused = sum(is_guessable_pin(f"{number:04d}") for number in range(10_000))
    assert refused < 700
