"""From text to a design: places of findings, malformed files, and rubbish refused cheaply."""

from __future__ import annotations

import time

import pytest

from api.domain.designs.form.positions import line_numbers
from tests.domain.designs.examples import BASE, FILE, changed, finding, line_of, read


def test_a_finding_is_printed_with_file_line_field_and_fix() -> None:
    text = changed('torque = "12 N*m"\n\n', "torque = 12\n\n")
    assert str(finding(text, "bare-number")) == (
        f"{FILE}:{line_of(text, 'torque = 12')}: stop: 12 has no unit; a torque is due (clamp[0].torque). "
        'Write it with its unit, for example "12 N*m", "106 lbf*in" or "8.9 lbf*ft".'
    )


@pytest.mark.parametrize(
    ("text", "code", "line", "says"),
    [
        ("", "empty", 0, "The file is empty"),
        (" \n\t\n", "empty", 0, "The file is empty"),
        (b"", "empty", 0, "The file is empty"),
        (b"format = 'a'\n\xff\xfe\x00", "not-utf8", 2, "Byte 14 is not UTF-8 text"),
        ("title = '\ud800'", "not-utf8", 0, "half a character"),
        ("\0\0\0", "toml-syntax", 1, "The file is not TOML"),
        ("code = \n", "toml-syntax", 1, "Invalid value"),
        ("[plate\nsize = 1", "toml-syntax", 1, "Expected ']'"),
        ("a = 1\nb = [1,\n", "toml-syntax", 3, "The file ends too early"),
        ("a = 1\nb = 2\na = 3\n", "duplicate", 3, "stands twice"),
        ("[plate]\n[plate]\n", "duplicate", 2, "stands twice"),
        ("[clamp]\nid = 'C1'\n[[clamp]]\n", "duplicate", 3, "stands twice"),
        ("a.b.c.d.e.f.g.h.i = 1", "too-deep", 1, "nested more than 8 deep"),
        ("x = " + "[" * 9 + "]" * 9, "too-deep", 0, "nested more than 8 deep"),
    ],
)
def test_a_file_that_is_no_toml_is_refused_with_its_line(
    text: str | bytes, code: str, line: int, says: str
) -> None:
    reading = read(text)
    assert reading.unreadable
    assert reading.design is None
    assert [(each.code, each.line, each.level) for each in reading.findings] == [
        (code, line, "stop")
    ]
    assert says in reading.findings[0].message


RUBBISH: dict[str, str | bytes] = {
    "5 MB of text": "a = 1\n" * 900_000,
    "5 MB of bytes": b"x" * 5_000_000,
    "a million-character string": 'title = "' + "x" * 1_000_000 + '"',
    "open brackets": "a = " + "[" * 19_000,
    "nested lists": "a = " + "[" * 9_000 + "]" * 9_000,
    "nested tables": "a = " + "{a=" * 4_000 + "1" + "}" * 4_000,
    "a long dotted key": "a." * 9_000 + "b = 1",
    "a number without end": "x = " + "9" * 19_000,
    "many keys": "\n".join(f"k{n} = 1" for n in range(30_000)),
    "many tables": "\n".join(f"[a.b.c.k{n}]" for n in range(20_000)),
    "many small tables": "x = [" + "{a=1},\n" * 40_000 + "]",
    "only comments": "#\n" * 190_000,
    "an open text": 't = """' + "\\\n" * 190_000,
    "many clamps": BASE + '[[clamp]]\nid = "C9"\n' * 15_000,
}


@pytest.mark.parametrize("name", RUBBISH)
def test_rubbish_is_refused_in_short_words_and_cheaply(name: str) -> None:
    began = time.process_time()
    reading = read(RUBBISH[name])
    assert time.process_time() - began < 5
    assert reading.stops
    assert len(reading.findings) <= 100
    assert all(len(each.message) <= 300 and len(each.fix) <= 300 for each in reading.findings)


def test_a_stop_is_not_lost_among_many_notes() -> None:
    start, end = BASE.index("[[spec]]"), BASE.index("[[clamp]]")
    spec = BASE[start:end].replace('stiffness = "60 kN/mm"\n', "")
    many = "".join(spec.replace('"m8-taper"', f'"spare-{n}"') for n in range(150))
    text = changed("passes = [0.3, 0.7, 1.0]", "passes = [0.3, 0.7]") + "\n" + many
    reading = read(text)
    assert len(reading.findings) == 100
    assert [each.code for each in reading.stops] == ["passes"]


def test_a_mark_at_the_start_of_the_file_and_windows_lines_do_no_harm() -> None:
    assert read("\ufeff" + BASE).findings == []
    assert read(b"\xef\xbb\xbf" + BASE.encode()).findings == []
    text = changed('"12 N*m"\n\n', '"12 N"\n\n')
    assert finding(text.replace("\n", "\r\n"), "wrong-dimension").line == line_of(text, '"12 N"\n')


def test_lines_are_known_for_tables_arrays_and_inline_tables() -> None:
    text = """\
a = 1 # [no] { table }
"b c".d = '''
two
'''
list = [ # comment
    { x = 1, y = [
        2,
    ] },
    "]",
]
[t.u]
when = 1979-05-27 07:32:00
[[v]]
n = 1
[[v]]
[[v.w]]
n = "\\"]"
[v.q]
n = 1
"""
    lines = line_numbers(text)
    assert lines[("a",)] == 1
    assert lines[("b c", "d")] == 2
    assert lines[("list",)] == 5
    assert lines[("list", 0)] == 6
    assert lines[("list", 0, "y", 0)] == 7
    assert lines[("list", 1)] == 9
    assert lines[("t", "u")] == 11
    assert lines[("t", "u", "when")] == 12
    assert (lines[("v",)], lines[("v", 0)], lines[("v", 1)]) == (13, 13, 15)
    assert lines[("v", 1, "w", 0, "n")] == 17
    assert lines[("v", 1, "q", "n")] == 19
