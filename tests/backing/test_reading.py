from __future__ import annotations

import pytest

from api.backing.reading import unescaped


@pytest.mark.parametrize(
    ("field", "value"),
    [
        (r"\N", None),
        ("plain", "plain"),
        (r"a\tb\nc", "a\tb\nc"),
        (r"back\\slash", "back\\slash"),
        (r"\\N", "\\N"),
        (r"\\\\n\n", "\\\\n\n"),
        ("", ""),
        (r'{"a":"\\u00e9\\n"}', '{"a":"\\u00e9\\n"}'),
    ],
)
def test_a_value_of_a_dump_is_read_as_it_was(field: str, value: str | None) -> None:
    assert unescaped(field) == value
