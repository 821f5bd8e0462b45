"""Computes in a process of its own, so that the server stays quick and outlives any fault in it."""

from __future__ import annotations

import json
import subprocess
import sys
import threading
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import api
from api.analysing.here import Here
from api.domain.analyses.guide import Analysis
from api.domain.designs import Design, Finding
from api.domain.errors import AnalysisEnded, AnalysisFailed
from api.domain.stores import Stores
from api.use_cases.ports import Progress

LONGEST_S = 300.0
CHILD = (sys.executable, "-m", "api.analysing.child")
# The folder the package lies in, so that the process runs this very code wherever it was started.
FOLDER = Path(api.__path__[0]).parent
LOG_NOTE = "The server's log says more; everything else goes on working."


class OwnProcess(Here):
    """One process for each computation; nothing is left running in between."""

    def __init__(self, command: Sequence[str] = CHILD, longest_s: float = LONGEST_S) -> None:
        self._command, self._longest_s = command, longest_s
        self._lock = threading.Lock()
        self._process: subprocess.Popen[bytes] | None = None
        self._ended = self._late = False

    def analyse(
        self, design: Design, stores: Stores, findings: Sequence[Finding], progress: Progress
    ) -> Analysis:
        """`findings` have no part in it; whoever shows the result adds them."""
        job = {"document": design.document, "stores": stores.model_dump(mode="json")}
        process = self._start()
        timer = threading.Timer(self._longest_s, self._give_up)
        timer.start()
        try:
            return self._follow(process, job, progress)
        finally:
            timer.cancel()
            _close(process)

    def end(self) -> None:
        with self._lock:
            self._ended = True
            if self._process is not None:
                self._process.kill()

    def _start(self) -> subprocess.Popen[bytes]:
        with self._lock:
            if self._ended:
                raise AnalysisEnded("The program ends.")
            self._late = False
            # A session of its own: Ctrl+C at the terminal is for the server, which ends this one.
            self._process = subprocess.Popen(  # noqa: S603 our own interpreter and module
                self._command,
                cwd=FOLDER,
                stdin=subprocess.PIPE,
                stdout=subprocess.PIPE,
                start_new_session=True,
            )
            return self._process

    def _give_up(self) -> None:
        with self._lock:
            self._late = True
            if self._process is not None:
                self._process.kill()

    def _follow(
        self, process: subprocess.Popen[bytes], job: dict[str, Any], progress: Progress
    ) -> Analysis:
        line: dict[str, Any] = {}
        assert process.stdin is not None and process.stdout is not None  # noqa: S101 both are pipes
        try:
            process.stdin.write(json.dumps(job).encode() + b"\n")
            process.stdin.flush()
        except BrokenPipeError:
            raise self._broken(process) from None
        for raw in process.stdout:
            line = _parsed(raw)
            if "doing" in line:
                progress(line["doing"], line["share"])
        if "failed" in line:
            raise AnalysisFailed(f"{line['failed']}. {LOG_NOTE}")
        if "analysis" not in line:
            raise self._broken(process)
        return Analysis.model_validate(line["analysis"])

    def _broken(self, process: subprocess.Popen[bytes]) -> AnalysisEnded | AnalysisFailed:
        """What to raise when the process was gone before it had answered."""
        if self._ended:
            return AnalysisEnded("The program ends.")
        if self._late:
            return AnalysisFailed(
                f"it was given up after {self._longest_s:.0f} s. "
                "Have it computed again when this computer has less to do."
            )
        status = process.wait()
        return AnalysisFailed(
            f"its process was ended from outside (status {status}), perhaps for want of memory. "
            "Have it computed again."
        )


def _parsed(raw: bytes) -> dict[str, Any]:
    """A line; nothing for one that was cut off when the process died."""
    try:
        line: dict[str, Any] = json.loads(raw)
    except ValueError:
        return {}
    return line


def _close(process: subprocess.Popen[bytes]) -> None:
    process.kill()
    process.wait()
    for pipe in (process.stdin, process.stdout):
        if pipe is not None:
            try:
                pipe.close()
            except BrokenPipeError:
                continue
