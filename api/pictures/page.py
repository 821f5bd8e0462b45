"""A report as one page that needs nothing beside itself: no address, no script, no other file."""

from __future__ import annotations

import base64
import re
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import Markup

FOOT_FONT = '"Atkinson Hyperlegible Next", sans-serif'
_FONT = re.compile(r"""url\(["']?(fonts/[^)"']+)["']?\)""")


def report_page(
    parts: Mapping[str, Any],
    *,
    code: str,
    revision: str,
    title: str,
    stamps: Mapping[str, str],
    css: str,
    templates: Path,
) -> str:
    """The page of `parts`; `stamps` stand in its title block, name by name, and some on each sheet."""
    heading = f"{code} revision {revision}" if revision else title
    foot = " · ".join([heading, *(f"{name} {value[:12]}" for name, value in stamps.items())])
    running = f"@page {{ @bottom-left {{ content: {css_text(foot)}; font: 9pt {FOOT_FONT}; }} }}"
    return (
        _environment(templates)
        .get_template("report/page.html")
        .render(
            report=parts,
            code=code,
            revision=revision,
            heading=heading,
            title=title,
            stamps=stamps,
            css=Markup(f"{css}\n{running}"),  # noqa: S704 - our own style sheet, and a text put safely
        )
    )


def with_fonts(css: str, read: Callable[[str], bytes]) -> str:
    """The style sheet with the fonts it names inside it; `read` gives the bytes of `fonts/...`."""
    return _FONT.sub(lambda found: f"url({_data(read(found.group(1)))})", css)


def css_text(words: str) -> str:
    """A CSS string: whatever could end it, the style sheet or the style element is escaped."""
    kept = "".join(
        char if char.isalnum() or char in " .,:-_·" else f"\\{ord(char):x} " for char in words
    )
    return f'"{kept}"'


def _data(font: bytes) -> str:
    return f"data:font/woff2;base64,{base64.b64encode(font).decode()}"


def _environment(templates: Path) -> Environment:
    return Environment(
        loader=FileSystemLoader(templates),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
