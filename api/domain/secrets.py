"""Which PINs and passwords are too easily guessed; length decides, never which kinds of characters."""

from __future__ import annotations

import datetime as dt
import re

from api.domain.common_words import WORDS
from api.domain.errors import BadInput

PIN = re.compile(r"[0-9]{4,8}")
SHORTEST_PASSWORD = 8
LONGEST_PASSWORD = 200
# Words of this program; together with the badge they make no password.
OWN_WORDS = ("clampbook", "clamp", "torque", "fixture")
LEAST_OWN_LETTERS = 4
ROWS = ("01234567890", "abcdefghijklmnopqrstuvwxyz", "qwertyuiop", "asdfghjkl", "zxcvbnm")
WALKS = (
    "1qaz2wsx3edc4rfv5tgb6yhn",
    "zaq12wsxcde34rfv",
    "q1w2e3r4t5y6u7i8o9p0",
    "1q2w3e4r5t6y7u8i9o0p",
    "qazwsxedcrfv",
    "147258369",
)
KEYPAD = ("2580", "0852", "1470", "3690", "1590", "3570", "1593", "7531", "9513", "1739", "3179")
YEARS = range(1900, 2100)
_LOOKALIKES = str.maketrans("013457@$!", "oieastasi")


def check_pin(pin: str, badge: str) -> None:
    if not PIN.fullmatch(pin) or len(set(pin)) == 1:
        raise BadInput("A PIN has 4 to 8 digits, not all alike.", field="pin")
    if is_guessable_pin(pin) or pin == re.sub(r"\D", "", badge):
        raise BadInput(
            "This PIN is among the first that anybody tries: a row, a repeat, a year or the badge. "
            "Choose digits without a pattern.",
            field="pin",
        )


def is_guessable_pin(pin: str) -> bool:
    """Rows up and down, repeats, mirrors, pairs, years, and lines on the keypad."""
    half = len(pin) // 2
    return (
        _is_repeat(pin)
        or _is_row(pin)
        or pin[:half] == pin[::-1][:half]
        or (len(pin) % 2 == 0 and pin[::2] == pin[1::2])
        or pin in KEYPAD
        or (len(pin) == 4 and int(pin) in YEARS)
        or _is_date(pin)
    )


def check_password(password: str, badge: str) -> None:
    if not SHORTEST_PASSWORD <= len(password) <= LONGEST_PASSWORD:
        raise BadInput(
            f"A password has {SHORTEST_PASSWORD} to {LONGEST_PASSWORD} characters.",
            field="password",
        )
    if is_guessable_password(password, badge):
        raise BadInput(
            "This password is among the first that anybody tries: a common word with digits, "
            "a row of keys, a repeat, a date or the badge. Take three words that do not belong together.",
            field="password",
        )


def is_guessable_password(password: str, badge: str) -> bool:
    """Common words also with digits round them, look-alikes for letters, doubled or in pairs."""
    plain = "".join(password.lower().split())
    packed = re.sub(r"[\W_]", "", plain)
    return (
        len(set(packed)) < LEAST_OWN_LETTERS
        or _is_repeat(packed)
        or _is_row(packed)
        or _is_date(packed)
        or _is_common(re.sub(r"^[\W\d_]+|[\W\d_]+$", "", plain))
        or _is_common(plain.translate(_LOOKALIKES).strip("0123456789.-_#*?+ "))
        or _is_common(re.sub(r"[\W\d_]+$", "", plain).translate(_LOOKALIKES))
        or _is_only_own(packed, badge)
    )


def _is_common(text: str) -> bool:
    letters = re.sub(r"[\W\d_]", "", text)
    if not letters or letters in WORDS or _is_repeat(letters) or _is_row(letters):
        return letters != "" or text != ""
    return any(letters[:at] in WORDS and letters[at:] in WORDS for at in range(3, len(letters) - 2))


def _is_only_own(packed: str, badge: str) -> bool:
    """Whether hardly a letter is left without the badge and this program's own words."""
    for word in (re.sub(r"\W", "", badge.lower()), *OWN_WORDS):
        packed = packed.replace(word, "") if word else packed
    return len(re.sub(r"\d", "", packed)) < LEAST_OWN_LETTERS and len(packed) < SHORTEST_PASSWORD


def _is_repeat(text: str) -> bool:
    """Whether it is one shorter text over and over: `abcabc`, `7777`."""
    return len(text) > 1 and text in (text + text)[1:-1]


def _is_row(text: str) -> bool:
    """Whether it runs along the alphabet, the digits or the keys, forwards or backwards."""
    if len(text) < 4:
        return False
    rows = (*ROWS, *WALKS, "".join(ROWS[2:]))
    return any(text in row * 2 or text in row[::-1] * 2 for row in rows)


def _is_date(text: str) -> bool:
    if len(text) not in (6, 8) or not text.isascii() or not text.isdigit():
        return False
    years = ("%Y%m%d", "%d%m%Y", "%m%d%Y") if len(text) == 8 else ("%y%m%d", "%d%m%y", "%m%d%y")
    return any(_reads_as(text, form) for form in years)


def _reads_as(text: str, form: str) -> bool:
    try:
        return dt.datetime.strptime(text, form).replace(tzinfo=dt.UTC).year in YEARS
    except ValueError:
        return False
