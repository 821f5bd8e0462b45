"""Computes at once what a hand-written analysis says, or only when a test lets it; may fail."""

from __future__ import annotations

import hashlib
import json
import threading
from collections.abc import Sequence

from api.domain.analyses.guide import Analysis
from api.domain.designs import Design, Finding
from api.domain.designs.order import tightening_order
from api.domain.errors import AnalysisEnded, AnalysisFailed
from api.domain.stores import Stores
from api.use_cases.ports import Progress
from tests.support import analyses

LOOK_EVERY_S = 0.02


class QuickAnalyser:
    """`hold()` keeps every computation at a half until `let_go()`; `computed` lists their inputs."""

    method = "quick/1"

    def __init__(self) -> None:
        self.computed: list[str] = []
        self.failure = ""
        self._free, self._ended = threading.Event(), threading.Event()
        self._free.set()

    def hold(self) -> None:
        self._free.clear()

    def let_go(self) -> None:
        self._free.set()

    def inputs_of(self, design: Design, stores: Stores) -> str:
        shelves = (stores.specs, stores.greases, stores.materials)
        kept = [{key: item.model_dump(mode="json") for key, item in one.items()} for one in shelves]
        text = json.dumps([self.method, design.document, kept], sort_keys=True)
        return hashlib.sha256(text.encode()).hexdigest()

    def analyse(
        self, design: Design, stores: Stores, findings: Sequence[Finding], progress: Progress
    ) -> Analysis:
        progress("bending the plate", 0.5)
        while not self._free.wait(LOOK_EVERY_S):
            if self._ended.is_set():
                raise AnalysisEnded("The program ends.")
        if self.failure:
            raise AnalysisFailed(self.failure)
        inputs = self.inputs_of(design, stores)
        self.computed.append(inputs)
        own = {"order": tightening_order(design), "passes": list(design.tightening.passes)}
        result = analyses.result_of(design).model_copy(update=own)
        _, like = analyses.sad_20()
        return like.model_copy(update={"inputs": inputs, "method": self.method, "result": result})

    def end(self) -> None:
        self._ended.set()
