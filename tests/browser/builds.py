"""This checkout as later versions would be: same code, another build of the front end."""

from __future__ import annotations

import hashlib
import json
import shutil
from pathlib import Path

from tests.support.checkout import ROOT

NEW_BUILD = "0f1e2d3c4b5a"


def build_of(checkout: Path) -> str:
    return str(json.loads((checkout / "web/dist/build.json").read_text())["build"])


def with_new_build(folder: Path, build: str = NEW_BUILD) -> Path:
    for name in ("api", "web/dist", "web/templates", "migrations", "seed_data"):
        shutil.copytree(ROOT / name, folder / name)
    dist, old = folder / "web/dist", build_of(folder)
    worker = (dist / "sw.js").read_text("utf-8")
    for path in [*dist.glob("*.js"), dist / "build.json"]:
        before = path.read_bytes()
        after = before.replace(old.encode(), build.encode())
        path.write_bytes(after)
        worker = worker.replace(_digest(before), _digest(after))
    (dist / "sw.js").write_text(worker.replace(old, build), "utf-8")
    return folder


def _digest(content: bytes) -> str:
    return hashlib.sha256(content).hexdigest()
