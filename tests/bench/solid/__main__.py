"""Works the cases named on the command line (all of them by default) and keeps their results."""

from __future__ import annotations

import argparse
import json
import time
from pathlib import Path

from tests.bench.solid.cases import CASES
from tests.bench.solid.results import worked

KEPT = Path(__file__).parents[2] / "vectors" / "solid"


def main() -> None:
    parser = argparse.ArgumentParser(prog="python -m tests.bench.solid", description=__doc__)
    parser.add_argument("cases", nargs="*", help=f"of {', '.join(CASES)}")
    parser.add_argument(
        "--mesh", type=float, help="element size in plan, mm; prints, keeps nothing"
    )
    chosen = parser.parse_args()
    for name in chosen.cases or CASES:
        begun = time.perf_counter()
        case = CASES[name]()
        found = worked(case.finer(chosen.mesh) if chosen.mesh else case)
        text = json.dumps(found, indent=1)
        print(f"{name}: {found['unknowns']} unknowns, {time.perf_counter() - begun:.0f} s")
        for state, values in found["deflection_um"].items():
            print(f"  {state}: {values}")
        if not chosen.mesh:
            KEPT.mkdir(exist_ok=True)
            (KEPT / f"{name}.json").write_text(text + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
