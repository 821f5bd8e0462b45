"""The packages of both lock files, and what is installed of them."""

from __future__ import annotations

import json
import re
from dataclasses import dataclass
from importlib.metadata import Distribution, PackageNotFoundError, distribution
from typing import Any

from tests.support.checkout import ROOT

RUN_LOCK = ROOT / ".lock/run.txt"
TEST_LOCK = ROOT / ".lock/test.txt"
NPM_LOCK = ROOT / "web/package-lock.json"
NODE_MODULES = ROOT / "web/node_modules"
_PINNED = re.compile(r"(?P<name>[A-Za-z0-9._-]+)==(?P<version>[A-Za-z0-9.!+_-]+)")


@dataclass(frozen=True, order=True)
class Package:
    name: str
    version: str


@dataclass(frozen=True)
class NpmPackage:
    """An entry of the npm lock file; `where` is its folder below `web`."""

    name: str
    version: str
    where: str
    integrity: str
    resolved: str
    shipped: bool
    optional: bool


def plain(name: str) -> str:
    """The one spelling of a Python package's name."""
    return re.sub(r"[-_.]+", "-", name).lower()


def read_lock(text: str) -> tuple[list[Package], list[str]]:
    """The pinned packages, and the lines that pin nothing exactly."""
    packages, wrong = [], []
    for line in text.splitlines():
        found = _PINNED.fullmatch(line.strip())
        if found:
            packages.append(Package(plain(found["name"]), found["version"]))
        elif line.strip():
            wrong.append(line)
    return packages, wrong


def installed(name: str) -> Distribution | None:
    try:
        return distribution(name)
    except PackageNotFoundError:
        return None


def npm_packages(text: str) -> list[NpmPackage]:
    entries: dict[str, Any] = json.loads(text)["packages"]
    return [
        NpmPackage(
            where.rpartition("node_modules/")[2],
            entry.get("version", ""),
            where,
            entry.get("integrity", ""),
            entry.get("resolved", ""),
            not entry.get("dev", False),
            entry.get("optional", False),
        )
        for where, entry in entries.items()
        if where
    ]
