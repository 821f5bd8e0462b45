"""`python -m tests.audit`: pins, hashes and licences; then what the registries say of them."""

from __future__ import annotations

import json
import sys
from collections.abc import Callable
from importlib.metadata import requires

from packaging.requirements import Requirement

from tests.audit import findings, licences, registries
from tests.audit.packages import (
    NPM_LOCK,
    RUN_LOCK,
    TEST_LOCK,
    NpmPackage,
    installed,
    npm_packages,
    plain,
    read_lock,
)
from tests.support.checkout import ROOT


def main() -> int:
    checks: dict[str, Callable[[], list[str]]] = {
        "pins": pins,
        "hashes of the front end's packages": hashes,
        "licences": lambda: licences.refused(licences.rows()),
        "offered by the Python index": registries.withdrawn,
        "offered by the npm registry": lambda: registries.not_as_pinned_at_npm(npm()),
    }
    failed = sum([report(name, check) for name, check in checks.items()])
    tell("known faults of the front end's packages", registries.known_faults)
    tell("newer releases, for a person to look at", registries.newer)
    return 1 if failed else 0


def report(name: str, check: Callable[[], list[str]]) -> bool:
    """Prints what is wrong; a registry that does not answer is a failure too."""
    try:
        wrong = check()
    except registries.NoAnswer as reason:
        wrong = [f"No answer: {reason}"]
    print(f"{'FAILED' if wrong else 'passed':7} {name}")
    print("".join(f"        {line}\n" for line in wrong), end="")
    return bool(wrong)


def tell(name: str, ask: Callable[[], list[str]]) -> None:
    try:
        lines = ask() or ["none"]
    except registries.NoAnswer as reason:
        lines = [f"not to be had here: {reason}"]
    print(f"        {name}:")
    print("".join(f"          {line}\n" for line in lines), end="")


def pins() -> list[str]:
    run, test = RUN_LOCK.read_text(encoding="utf-8"), TEST_LOCK.read_text(encoding="utf-8")
    run_packages, test_packages = read_lock(run)[0], read_lock(test)[0]
    return [
        *findings.of_lock(".lock/run.txt", run, version_of),
        *findings.of_lock(".lock/test.txt", test, version_of),
        *findings.of_run_in_test(run_packages, test_packages),
        *findings.of_needs(needed("clampbook", set()), [one.name for one in run_packages]),
    ]


def needed(name: str, extras: set[str], seen: set[str] | None = None) -> set[str]:
    """Every package that one of this name brings along on this machine, itself left out."""
    seen = set() if seen is None else seen
    for line in requires(name) or []:
        need = Requirement(line)
        applies = need.marker is None or any(
            need.marker.evaluate({"extra": extra}) for extra in extras or {""}
        )
        if applies and plain(need.name) not in seen:
            seen.add(plain(need.name))
            needed(need.name, set(need.extras), seen)
    return seen


def version_of(name: str) -> str | None:
    there = installed(name)
    return None if there is None else there.version


def hashes() -> list[str]:
    return [*findings.of_npm_lock(npm()), *findings.of_npm_installed(npm(), npm_version)]


def npm() -> list[NpmPackage]:
    return npm_packages(NPM_LOCK.read_text(encoding="utf-8"))


def npm_version(where: str) -> str | None:
    file = ROOT / "web" / where / "package.json"
    return str(json.loads(file.read_text(encoding="utf-8"))["version"]) if file.is_file() else None


if __name__ == "__main__":
    sys.exit(main())
