"""What the code does without, so that no input can reach it."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.support.checkout import ROOT

# Running text as code, reading objects out of bytes, reading XML, and asking other servers.
FORBIDDEN_CALLS = {"eval", "exec", "compile", "__import__", "os.system", "os.popen"}
FORBIDDEN_MODULES = {
    "pickle",
    "marshal",
    "shelve",
    "dill",
    "yaml",
    "xml",
    "lxml",
    "random",
    "urllib.request",
    "http.client",
    "httpx",
    "requests",
    "ftplib",
    "smtplib",
    "ldap",
}
WEAK_HASHES = {"hashlib.md5", "hashlib.sha1"}
# The demonstration's history is drawn by lot from a seed; nothing of it guards anything.
BY_LOT = "api/use_cases/demo/"
SCRIPT = re.compile(
    r"innerHTML|outerHTML|unsafeHTML|unsafeSVG|insertAdjacentHTML|document\.write|\beval\(|new Function"
    r"|localStorage|sessionStorage|Math\.random|__proto__|addEventListener\(\"message\""
)


def sources() -> list[Path]:
    return sorted([*(ROOT / "api").rglob("*.py"), *(ROOT / "migrations").rglob("*.py")])


def scripts() -> list[Path]:
    return sorted([*(ROOT / "web/src").rglob("*.ts"), ROOT / "web/sw.ts"])


def found_in(text: str, name: str) -> Iterator[str]:
    for node in ast.walk(ast.parse(text)):
        for one in _modules(node):
            by_lot = one.partition(".")[0] == "random" and name.startswith(BY_LOT)
            if not by_lot and any(
                one == bad or one.startswith(f"{bad}.") for bad in FORBIDDEN_MODULES
            ):
                yield f"{name}:{getattr(node, 'lineno', 0)} imports {one}"
        if isinstance(node, ast.Call):
            called = ast.unparse(node.func)
            shell = any(
                key.arg == "shell" and ast.unparse(key.value) != "False" for key in node.keywords
            )
            if called in FORBIDDEN_CALLS | WEAK_HASHES or shell:
                yield f"{name}:{node.lineno} calls {called}"


def _modules(node: ast.AST) -> list[str]:
    if isinstance(node, ast.Import):
        return [one.name for one in node.names]
    if isinstance(node, ast.ImportFrom):
        return [node.module or "", *(f"{node.module}.{one.name}" for one in node.names)]
    return []


def test_the_server_runs_no_text_reads_no_objects_and_asks_no_other_server() -> None:
    found = [
        one
        for path in sources()
        for one in found_in(path.read_text("utf-8"), path.relative_to(ROOT).as_posix())
    ]
    assert len(sources()) > 200
    assert found == []


@pytest.mark.parametrize(
    "text",
    [
        "eval('1')",
        "import pickle",
        "from xml.etree import ElementTree",
        "import urllib.request",
        "from urllib import request",
        "import subprocess\nsubprocess.run('ls', shell=True)",
        "import hashlib\nhashlib.md5(b'')",
        "import random",
    ],
)
def test_each_of_them_would_be_found(text: str) -> None:
    assert list(found_in(text, "api/some.py"))


def test_programs_are_started_in_few_places_and_from_lists() -> None:
    starting = re.compile(
        r"^\s*(import|from) (subprocess|multiprocessing)|create_subprocess", re.MULTILINE
    )
    found = {
        path.relative_to(ROOT).as_posix()
        for path in sources()
        if starting.search(path.read_text("utf-8"))
    }
    assert found == {
        "api/analysing/own_process.py",  # the computation, by our own interpreter
        "api/backing/hourly.py",  # a backup, by our own interpreter
        "api/backing/postgres.py",  # the engine's own programs for a copy
    }


def test_scripts_put_text_on_a_page_as_text_and_keep_nothing_where_others_look() -> None:
    found = {
        f"{path.relative_to(ROOT)}: {one.group()}"
        for path in scripts()
        for one in SCRIPT.finditer(path.read_text("utf-8"))
    }
    assert len(scripts()) > 60
    assert found == {
        "web/src/bench/net/driver.ts: Math.random",  # how long to wait before the next try
        "web/src/welcome/checks.ts: Math.random",  # a word to write and read back
        "web/src/welcome/ready.ts: innerHTML",  # three drawings of our own
        # Only pages of its own origin reach a worker.
        'web/src/welcome/worker.ts: addEventListener("message"',
        'web/sw.ts: addEventListener("message"',
    }
    drawn = (ROOT / "web/src/welcome/ready.ts").read_text("utf-8")
    assert re.findall(r"innerHTML = (.*)", drawn) == [
        '`<svg class="mark" viewBox="0 0 16 16" aria-hidden="true">${SHAPES[state]}</svg>`;'
    ]
    assert 'event.data === "take over"' in (ROOT / "web/sw.ts").read_text("utf-8")


def test_templates_escape_everything() -> None:
    templates = list((ROOT / "web/templates").rglob("*.html"))
    assert len(templates) > 20
    for path in templates:
        text = path.read_text("utf-8")
        assert not re.search(r"\|\s*safe\b|autoescape\s+false", text), path


def test_queries_are_never_put_together_from_text() -> None:
    storage = sorted((ROOT / "api/storage").rglob("*.py"))
    made = re.compile(r"(text|exec_driver_sql|execute)\(\s*(f\"|f'|\"[^\"]*\"\s*(%|\+|\.format))")
    # Names of our own tables, counters and settings; nothing that came from outside.
    fixed_names = {"api/storage/engine.py", "api/storage/rows.py", "api/storage/triggers.py"}
    found = [
        path.relative_to(ROOT).as_posix()
        for path in storage
        if made.search(path.read_text("utf-8"))
    ]
    assert set(found) <= fixed_names
