"""`python -m api.analysing.child`: one computation, from a line on standard input to lines out.

In: `{"document": ..., "stores": ...}`. Out, a line each: `{"doing": words, "share": 0..1}`, then
`{"analysis": ...}` or `{"failed": sentence}`. It ends at once when its input is closed, which also
happens when the process that started it dies.
"""

from __future__ import annotations

import json
import os
import sys
import threading
import traceback
from collections.abc import Callable
from typing import Any, TextIO

from api.domain.designs import Design
from api.domain.stores import Stores
from api.use_cases.analysis import analyse

POLITENESS = 5


def main() -> None:
    out = _lines_out()
    _step_back()
    job = json.loads(sys.stdin.buffer.readline())
    threading.Thread(target=_end_with_input, daemon=True).start()

    def tell(line: dict[str, Any]) -> None:
        out.write(json.dumps(line) + "\n")
        out.flush()

    tell(_outcome(job, tell))
    # The watching thread sits in a read that nothing ends.
    os._exit(0)


def _outcome(job: dict[str, Any], tell: Callable[[dict[str, Any]], None]) -> dict[str, Any]:
    try:
        design = Design.from_document(job["document"])
        stores = Stores.model_validate(job["stores"])
        found = analyse(
            design, stores, (), lambda doing, share: tell({"doing": doing, "share": share})
        )
    except Exception as fault:  # noqa: BLE001 whatever it is, the person gets a sentence, the log the rest
        traceback.print_exc()
        return {"failed": f"the program met a fault ({type(fault).__name__})"}
    return {"analysis": found.model_dump(mode="json")}


def _lines_out() -> TextIO:
    """The real standard output; what else is printed goes to the log."""
    own = os.fdopen(os.dup(sys.stdout.fileno()), "w", encoding="utf-8")
    os.dup2(sys.stderr.fileno(), sys.stdout.fileno())
    return own


def _step_back() -> None:
    """Lets the server go first where both want the processor."""
    if hasattr(os, "nice"):
        os.nice(POLITENESS)


def _end_with_input() -> None:
    sys.stdin.buffer.read()
    os._exit(1)


if __name__ == "__main__":
    main()
