"""Writes plan.json and fold.json: `python -m tests.vectors.make`.

The files are a tripwire that keeps the tablet's rules and the server's the same; what is right
is said by the tests in tests/domain.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from api.domain.setups import fold, to_json
from api.domain.steps import select
from tests.support.scenarios import COUNTERSIGNED, SETUP, STEPS, STORIES
from tests.support.script import NOTHING_DUE, layout, steps_of

HERE = Path(__file__).parent


def plans() -> list[dict[str, Any]]:
    facts = {
        "nothing due": NOTHING_DUE,
        "grease due": {**NOTHING_DUE, "grease_due": True},
        "baseline due": {**NOTHING_DUE, "baseline_due": True},
        "second touch": {**NOTHING_DUE, "second_touch": ["C1"]},
    }
    layouts = {"free": layout(), "locked": layout(tighten_locked=True, lift=True)}
    return [
        {
            "name": f"{plate}, {name}",
            "steps": steps_of(some),
            "facts": fact,
            "expect": [step["id"] for step in select(steps_of(some), fact)],
        }
        for plate, some in layouts.items()
        for name, fact in facts.items()
    ]


def folds() -> dict[str, Any]:
    stories = []
    for name, story in STORIES.items():
        events, verdicts = story()
        countersign = name in COUNTERSIGNED
        found = to_json(fold(SETUP, STEPS, events, verdicts, countersign=countersign))
        raw = [event.model_dump(by_alias=True) for event in events]
        told = {"events": raw, "verdicts": verdicts, "countersign": countersign}
        stories.append({"name": name, **told, "expect": found})
    return {"setup": SETUP, "steps": STEPS, "stories": stories}


def main() -> None:
    for name, value in {"plan": plans(), "fold": folds()}.items():
        (HERE / f"{name}.json").write_text(json.dumps(value, separators=(",", ":")) + "\n")


if __name__ == "__main__":
    main()
