"""Writes guide.json: `python -m tests.vectors.make_guide`.

The file keeps what the tablet says of a plate's bow the same as the server's; what is right is said
by tests/domain/test_guiding.py.
"""

from __future__ import annotations

import json
from dataclasses import asdict
from pathlib import Path
from typing import Any

from api.domain.analyses.guide import Guide
from api.domain.analyses.guiding import GuideError, Pull, after
from tests.support.guides import guide_of, passes

HERE = Path(__file__).parent
SHARES = (0.3, 0.7, 1.0)


def cases() -> list[dict[str, Any]]:
    three = guide_of(3, coupling=1.0, seed=3)
    first, second, full = (passes(three, share) for share in SHARES)
    loose = guide_of(3, coupling=12.0, seed=29)
    twin = guide_of(4, coupling=1.5, seed=4, twin=True)
    unlike = three.model_copy(
        update={"flexibility_um_per_n": [[0.01, 0, 0], [0, -0.01, 0], [0] * 3]}
    )
    return [
        _case("nothing pulled yet", three, []),
        _case("one clamp in one pass", guide_of(1, coupling=1.0, seed=1), [("C1", 1.0)]),
        _case("two clamps in two passes", *_whole(2, 0.5, 1.0)),
        *(
            _case(f"three clamps, {n} pulls", three, [*first, *second, *full][:n])
            for n in (1, 5, 9)
        ),
        _case(
            "a pass that was left and starts again", three, [*first, *second[:2], *second, *full]
        ),
        _case("the same clamp twice", three, [*first, *first[-1:]]),
        _case("a lighter pull after a full one", three, [("C2", 1.0), ("C2", 0.3)]),
        _case("movers in the re-check", three, [*first, *second, *full, ("C3", 1.0), ("C1", 1.0)]),
        _case("a part goes loose", loose, passes(loose, 1.0)),
        _case("a loose part is met again", loose, [*passes(loose, 1.0), *passes(loose, 1.0)]),
        _case("clamps that press two parts each", twin, passes(twin, 0.5, 1.0)),
        _case("eight clamps in three passes", *_whole(8, *SHARES)),
        _case("twenty-four clamps in two passes", *_whole(24, 0.5, 1.0)),
        _case("a clamp the guide does not know", three, [("C9", 1.0)]),
        _case("numbers of no plate", unlike, passes(unlike, 1.0)),
    ]


def _whole(clamps: int, *shares: float) -> tuple[Guide, list[Pull]]:
    guide = guide_of(clamps, coupling=1.0, seed=clamps)
    return guide, passes(guide, *shares)


def _case(name: str, guide: Guide, pulls: list[Pull]) -> dict[str, Any]:
    try:
        expect = asdict(after(guide, pulls))
    except GuideError:
        expect = None
    told = [{"clamp": clamp, "share": share} for clamp, share in pulls]
    return {"name": name, "guide": guide.model_dump(), "pulls": told, "expect": expect}


def write() -> None:
    text = json.dumps(cases(), separators=(",", ":"))
    (HERE / "guide.json").write_text(text + "\n", encoding="utf-8")


if __name__ == "__main__":
    write()
