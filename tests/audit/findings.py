"""What is wrong with the lock files and with what is installed, one sentence each."""

from __future__ import annotations

import base64
import binascii
import re
from collections.abc import Callable, Iterable

from tests.audit.packages import NpmPackage, Package, read_lock

VersionOf = Callable[[str], str | None]
LOCK_OF_NPM = re.compile(r"sha512-(?P<digest>[A-Za-z0-9+/]+=*)")
SHA512_BYTES = 64


def of_lock(file: str, text: str, version_of: VersionOf) -> list[str]:
    """Lines that pin nothing, packages twice, and other versions than the pinned ones installed."""
    packages, wrong = read_lock(text)
    found = [f"{file}: '{line}' pins no exact version." for line in wrong]
    names = [one.name for one in packages]
    found += [f"{file}: {name} stands there twice." for name in twice(names)]
    for package in packages:
        there = version_of(package.name)
        if there is None:
            found.append(f"{file}: {package.name} {package.version} is not installed.")
        elif there != package.version:
            found.append(
                f"{file}: {package.name} is pinned to {package.version}, installed is {there}."
            )
    return found


def of_run_in_test(run: list[Package], test: list[Package]) -> list[str]:
    """What is tested has to be what is shipped."""
    tested = {one.name: one.version for one in test}
    return [
        f".lock/test.txt has {one.name} {tested.get(one.name, 'not at all')}, "
        f".lock/run.txt has {one.version}."
        for one in run
        if tested.get(one.name) != one.version
    ]


def of_needs(needs: Iterable[str], pinned: Iterable[str]) -> list[str]:
    """Packages that a pinned one needs, but that are not pinned themselves."""
    there = set(pinned)
    return [f".lock: {name} is needed and not pinned." for name in sorted(set(needs) - there)]


def of_npm_lock(packages: list[NpmPackage]) -> list[str]:
    found = []
    for one in packages:
        place = f"web/package-lock.json: {one.name} {one.version}"
        if not one.version:
            found.append(f"{place} has no version.")
        if not _is_digest(one.integrity):
            found.append(f"{place} has no SHA-512 to check its archive against.")
        if one.resolved:
            found.append(
                f"{place} comes from {one.resolved}, and not from the registry by its name."
            )
    return found


def of_npm_installed(packages: list[NpmPackage], version_of: VersionOf) -> list[str]:
    """`version_of` tells what lies in a package's folder; one for another system may be absent."""
    found = []
    for one in packages:
        there = version_of(one.where)
        if there != one.version and not (there is None and one.optional):
            found.append(f"web/{one.where} holds {there or 'nothing'}, pinned is {one.version}.")
    return found


def twice(names: list[str]) -> list[str]:
    return sorted({name for name in names if names.count(name) > 1})


def _is_digest(integrity: str) -> bool:
    found = LOCK_OF_NPM.fullmatch(integrity)
    try:
        return found is not None and len(base64.b64decode(found["digest"])) == SHA512_BYTES
    except binascii.Error:
        return False
