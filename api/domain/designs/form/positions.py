"""Line numbers for a TOML text that has already been read without error.

The standard reader gives values without places. This scanner walks the same text and notes the
line on which each table, key and array element begins. It relies on the text being valid.
"""

from __future__ import annotations

import re
import tomllib

from api.domain.designs.findings import Path

_SPACE = re.compile(r"(?:[ \t\r\n]|#[^\n]*)+")
_BLANK = re.compile(r"[ \t]+")
_STRING = re.compile(
    r'"""(?:\\.|[^\\])*?"{3,5}'
    r"|'''.*?'{3,5}"
    r'|"(?:\\.|[^"\\\n])*"'
    r"|'[^'\n]*'",
    re.DOTALL,
)
_BARE_KEY = re.compile(r"[A-Za-z0-9_-]+")
_BARE_VALUE = re.compile(r"[^,\]}#\n]+")


def line_numbers(text: str) -> dict[Path, int]:
    """Path of each table, key and element -> its line, from 1."""
    return _Scanner(text.replace("\r\n", "\n")).run()


class _Scanner:
    def __init__(self, text: str) -> None:
        self._text = text
        self._at = 0
        self._line = 1
        self._lines: dict[Path, int] = {}
        self._counts: dict[Path, int] = {}

    def run(self) -> dict[Path, int]:
        base: Path = ()
        self._skip(_SPACE)
        while self._at < len(self._text):
            base = self._header() if self._peek("[") else self._pair(base)
            self._skip(_SPACE)
        return self._lines

    def _peek(self, start: str) -> bool:
        return self._text.startswith(start, self._at)

    def _skip(self, pattern: re.Pattern[str]) -> str:
        found = pattern.match(self._text, self._at)
        if not found:
            return ""
        self._at = found.end()
        self._line += found.group().count("\n")
        return found.group()

    def _header(self) -> Path:
        line = self._line
        repeated = self._peek("[[")
        self._at += 2 if repeated else 1
        keys = self._keys()
        self._at += 2 if repeated else 1
        path = self._resolve(keys[:-1])
        path = (*path, keys[-1])
        if repeated:
            count = self._counts.get(path, 0)
            self._counts[path] = count + 1
            self._lines.setdefault(path, line)
            path = (*path, count)
        self._lines[path] = line
        return path

    def _resolve(self, keys: list[str]) -> Path:
        """The path of `keys`, with the newest element of every array of tables on the way."""
        path: Path = ()
        for key in keys:
            path = (*path, key)
            if path in self._counts:
                path = (*path, self._counts[path] - 1)
        return path

    def _keys(self) -> list[str]:
        keys = []
        while True:
            self._skip(_BLANK)
            quoted = self._skip(_STRING)
            keys.append(_plain(quoted) if quoted else self._skip(_BARE_KEY))
            self._skip(_BLANK)
            if not self._peek("."):
                return keys
            self._at += 1

    def _pair(self, base: Path) -> Path:
        line = self._line
        path = base
        for key in self._keys():
            path = (*path, key)
            self._lines.setdefault(path, line)
        self._at += 1
        self._skip(_BLANK)
        self._value(path)
        return base

    def _value(self, path: Path) -> None:
        if self._peek("["):
            self._array(path)
        elif self._peek("{"):
            self._inline_table(path)
        elif not self._skip(_STRING):
            self._skip(_BARE_VALUE)

    def _array(self, path: Path) -> None:
        self._at += 1
        index = 0
        self._skip(_SPACE)
        while not self._peek("]"):
            self._lines[(*path, index)] = self._line
            self._value((*path, index))
            self._past_comma()
            index += 1
        self._at += 1

    def _inline_table(self, path: Path) -> None:
        self._at += 1
        self._skip(_SPACE)
        while not self._peek("}"):
            self._pair(path)
            self._past_comma()
        self._at += 1

    def _past_comma(self) -> None:
        self._skip(_SPACE)
        if self._peek(","):
            self._at += 1
            self._skip(_SPACE)


def _plain(quoted: str) -> str:
    if "\\" in quoted and quoted.startswith('"'):
        return str(tomllib.loads(f"key = {quoted}")["key"])
    return quoted[1:-1]
