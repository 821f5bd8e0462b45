"""That the audit finds what it is there to find, and that the table of licences is current."""

from __future__ import annotations

from importlib.metadata import distribution
from typing import Any

import pytest

from tests.audit import findings, licences, registries
from tests.audit.__main__ import hashes, needed, pins
from tests.audit.packages import NPM_LOCK, NpmPackage, Package, npm_packages, read_lock

DIGEST = f"sha512-{'A' * 86}=="


def npm(**changes: Any) -> NpmPackage:
    facts = {"name": "lit", "version": "3.0.0", "where": "node_modules/lit", "integrity": DIGEST}
    return NpmPackage(**{**facts, "resolved": "", "shipped": True, "optional": False, **changes})


def test_everything_pinned_is_what_is_installed() -> None:
    assert pins() == []
    assert hashes() == []


def test_a_pin_that_is_none_or_is_not_what_is_installed_is_found() -> None:
    text = "fastapi>=0.1\nnumpy==1.0\nnumpy==1.0\nscipy==2.0\nsegno==1.6\n-e .\n"
    found = findings.of_lock("run.txt", text, {"numpy": "1.0", "scipy": "1.0"}.get)
    assert found == [
        "run.txt: 'fastapi>=0.1' pins no exact version.",
        "run.txt: '-e .' pins no exact version.",
        "run.txt: numpy stands there twice.",
        "run.txt: scipy is pinned to 2.0, installed is 1.0.",
        "run.txt: segno 1.6 is not installed.",
    ]


def test_what_is_tested_is_what_is_shipped() -> None:
    run = [Package("a", "1"), Package("b", "1"), Package("c", "1")]
    found = findings.of_run_in_test(run, [Package("a", "1"), Package("b", "2"), Package("d", "1")])
    assert found == [
        ".lock/test.txt has b 2, .lock/run.txt has 1.",
        ".lock/test.txt has c not at all, .lock/run.txt has 1.",
    ]


def test_what_a_package_brings_along_has_to_be_pinned_too() -> None:
    brought = needed("clampbook", set())
    assert {"fastapi", "starlette", "h11", "argon2-cffi", "psycopg-binary"} <= brought
    assert "pytest" not in brought
    assert findings.of_needs(brought, brought - {"h11"}) == [".lock: h11 is needed and not pinned."]


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"integrity": ""}, "no SHA-512"),
        ({"integrity": "sha1-abc="}, "no SHA-512"),
        ({"integrity": "sha512-AAAA"}, "no SHA-512"),
        ({"resolved": "https://elsewhere.test/lit.tgz"}, "not from the registry"),
        ({"resolved": "git+ssh://git@elsewhere.test/lit.git"}, "not from the registry"),
        ({"version": ""}, "no version"),
    ],
)
def test_an_npm_package_without_digest_or_from_elsewhere_is_found(
    changes: dict[str, str], words: str
) -> None:
    assert findings.of_npm_lock([npm()]) == []
    assert words in findings.of_npm_lock([npm(**changes)])[0]


def test_another_npm_package_in_the_folder_than_pinned_is_found() -> None:
    def found(there: str | None, **changes: Any) -> list[str]:
        return findings.of_npm_installed([npm(**changes)], lambda _: there)

    assert found("3.0.0") == []
    assert found("3.0.1") == ["web/node_modules/lit holds 3.0.1, pinned is 3.0.0."]
    assert found(None) == ["web/node_modules/lit holds nothing, pinned is 3.0.0."]
    assert found(None, optional=True) == []
    assert found("3.0.1", optional=True)


def test_a_withdrawn_release_is_found() -> None:
    about = {"name": "a", "version": "1"}
    kept, gone = {"metadata": about}, {"metadata": about, "is_yanked": True}
    assert registries.yanked({"install": [kept, gone]}) == ["a 1 was withdrawn by its makers."]


def test_a_release_that_npm_has_no_more_or_has_changed_is_found() -> None:
    offered = {"version": "3.0.0", "dist": {"integrity": DIGEST}}
    assert registries.unlike(npm(), offered) == []
    assert registries.unlike(npm(), {"error": {"code": "E404"}})
    assert registries.unlike(npm(), {**offered, "dist": {"integrity": "sha512-other"}})


def test_the_table_of_licences_is_current_and_holds_only_allowed_ones() -> None:
    found = licences.rows()
    assert licences.refused(found) == []
    assert licences.TABLE.read_text(encoding="utf-8") == licences.table(found), (
        "Run 'python -m tests.audit.licences --write'."
    )
    parts = {one.part for one in found}
    shipped = [one for one in npm_packages(NPM_LOCK.read_text(encoding="utf-8")) if one.shipped]
    assert parts == {"server", "browser"}
    assert len([one for one in found if one.part == "browser"]) == len(shipped)


@pytest.mark.parametrize(
    ("licence", "allowed"),
    [
        ("MIT", True),
        ("Apache-2.0 OR GPL-3.0-only", True),
        ("MIT AND PSF-2.0", True),
        ("MIT AND GPL-3.0-only", False),
        ("GPL-3.0-only", False),
        ("", False),
        ("Some licence of our own", False),
    ],
)
def test_a_licence_nobody_allowed_is_refused(licence: str, allowed: bool) -> None:
    assert licences.is_allowed(licence) is allowed
    row = licences.Row("server", "a", "1", licence)
    assert bool(licences.refused([row])) is not allowed


def test_older_metadata_name_their_licence_too() -> None:
    assert licences.licence_of(distribution("Jinja2")) == "BSD-3-Clause"
    assert licences.licence_of(distribution("h11")) == "MIT"
    assert licences.licence_of(None) == ""


def test_lines_of_a_lock_are_read_with_any_spelling_of_a_name() -> None:
    packages, wrong = read_lock("Jinja2==3.1.6\npydantic_core==2.50.5\n\n")
    assert packages == [Package("jinja2", "3.1.6"), Package("pydantic-core", "2.50.5")]
    assert wrong == []
