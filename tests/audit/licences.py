"""`python -m tests.audit.licences`: every shipped package with its licence.

With `--write` the table in LICENCES.md is made anew.
"""

from __future__ import annotations

import json
import re
import sys
from dataclasses import dataclass
from importlib.metadata import Distribution

from tests.audit.packages import (
    NODE_MODULES,
    NPM_LOCK,
    RUN_LOCK,
    installed,
    npm_packages,
    read_lock,
)
from tests.support.checkout import ROOT

TABLE = ROOT / "tests/audit/LICENCES.md"
ALLOWED = frozenset(
    """
    MIT MIT-0 MIT-CMU BSD-2-Clause BSD-3-Clause 0BSD ISC Apache-2.0 PSF-2.0 MPL-2.0 OFL-1.1
    LGPL-3.0-only Zlib CC0-1.0
    """.split()
)
# What older metadata call the same licences.
NAMES = {
    "BSD": "BSD-3-Clause",
    "BSD License": "BSD-3-Clause",
    "BSD 3-Clause License": "BSD-3-Clause",
    "MIT License": "MIT",
    "ISC License": "ISC",
    "ISC License (ISCL)": "ISC",
    "Apache Software License": "Apache-2.0",
    "Apache 2.0": "Apache-2.0",
    "Python Software Foundation License": "PSF-2.0",
    "Mozilla Public License 2.0 (MPL 2.0)": "MPL-2.0",
}
CLASSIFIER = "License :: OSI Approved :: "
HEAD = """# Licences of what is shipped

Made by `python -m tests.audit.licences --write` from the lock files and the packages' own metadata;
the tests compare it. The texts of what is bundled for the browser are in `web/dist/licences.txt`.

| package | version | licence | part |
| --- | --- | --- | --- |
"""


@dataclass(frozen=True, order=True)
class Row:
    part: str
    name: str
    version: str
    licence: str

    def __str__(self) -> str:
        return f"| {self.name} | {self.version} | {self.licence or 'unknown'} | {self.part} |"


def rows() -> list[Row]:
    packages, _ = read_lock(RUN_LOCK.read_text(encoding="utf-8"))
    server = [
        Row("server", one.name, one.version, licence_of(installed(one.name))) for one in packages
    ]
    browser = [
        Row("browser", one.name, one.version, npm_licence(one.name))
        for one in npm_packages(NPM_LOCK.read_text(encoding="utf-8"))
        if one.shipped
    ]
    return sorted([*server, *browser])


def licence_of(package: Distribution | None) -> str:
    """As an SPDX expression; empty where the package does not say, or not in a known way."""
    if package is None:
        return ""
    facts = package.metadata.json
    named = facts.get("license_expression")
    if named:
        return str(named)
    classified = [
        line.removeprefix(CLASSIFIER)
        for line in facts.get("classifier", [])
        if line.startswith(CLASSIFIER)
    ]
    free = str(facts.get("license", "")).strip().partition("\n")[0]
    for name in (free, *classified):
        known = NAMES.get(name, name if name in ALLOWED else "")
        if known:
            return known
    return ""


def npm_licence(name: str) -> str:
    facts = json.loads((NODE_MODULES / name / "package.json").read_text(encoding="utf-8"))
    licence = facts.get("license", "")
    return licence if isinstance(licence, str) else ""


def is_allowed(licence: str) -> bool:
    """Of alternatives one is enough; of what holds together all have to be allowed."""
    if not licence:
        return False
    alternatives = re.split(r"\s+OR\s+", licence.replace("(", "").replace(")", ""))
    return any(set(re.split(r"\s+AND\s+", one)) <= ALLOWED for one in alternatives)


def refused(found: list[Row]) -> list[str]:
    return [
        f"{one.name} {one.version}: '{one.licence or 'unknown'}' is not among the allowed licences."
        for one in found
        if not is_allowed(one.licence)
    ]


def table(found: list[Row]) -> str:
    return HEAD + "".join(f"{one}\n" for one in found)


def main() -> int:
    found = rows()
    if "--write" in sys.argv:
        TABLE.write_text(table(found), encoding="utf-8")
    print(table(found))
    wrong = refused(found)
    print("\n".join(wrong))
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())
