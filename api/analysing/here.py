"""Computes in this process and remembers what it has computed; for whoever can wait."""

from __future__ import annotations

from collections.abc import Sequence

from api.domain.analyses.guide import Analysis
from api.domain.designs import Design, Finding
from api.domain.stores import Stores
from api.use_cases import analysis
from api.use_cases.ports import Progress

_KNOWN: dict[str, Analysis] = {}


class Here:
    """What was computed without findings is kept as long as the process lives."""

    @property
    def method(self) -> str:
        return analysis.METHOD

    def inputs_of(self, design: Design, stores: Stores) -> str:
        return analysis.inputs_of(design, stores)

    def analyse(
        self, design: Design, stores: Stores, findings: Sequence[Finding], progress: Progress
    ) -> Analysis:
        if findings:
            return analysis.analyse(design, stores, findings, progress)
        inputs = self.inputs_of(design, stores)
        if inputs not in _KNOWN:
            _KNOWN[inputs] = analysis.analyse(design, stores, (), progress)
        return _KNOWN[inputs]

    def end(self) -> None:
        """A computation here ends by itself."""
