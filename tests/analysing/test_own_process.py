"""A computation in a process of its own: same answer, told progress, and every way it can end."""

from __future__ import annotations

import datetime as dt
import json
import subprocess
import sys
import threading
from collections.abc import Callable

import pytest

from api.analysing import Here, OwnProcess
from api.analysing.own_process import CHILD
from api.domain.analyses.guide import Analysis
from api.domain.designs import Design, read_design
from api.domain.errors import AnalysisEnded, AnalysisFailed
from api.domain.stores import Stores
from api.paths import share
from api.use_cases.analyses import silent
from api.use_cases.demo.stores import demo_stores

STORES = demo_stores(share("seed_data"), dt.date(2026, 11, 25))
ENDS_WITHIN_S = 10


@pytest.fixture(scope="module")
def design() -> Design:
    path = share("seed_data") / "designs/SAD-20-B.toml"
    found = read_design(path.read_text(), path.name, STORES).design
    assert found is not None
    return found


def process(script: str, longest_s: float = 60) -> OwnProcess:
    """The same, with a script in the place of the computation."""
    return OwnProcess((sys.executable, "-c", script), longest_s)


def analyse(how: OwnProcess, design: Design, told: Callable[[str, float], None]) -> Analysis:
    return how.analyse(design, STORES, (), told)


def test_it_answers_as_a_computation_here_does_and_tells_its_progress(design: Design) -> None:
    told: list[float] = []
    found = analyse(OwnProcess(), design, lambda _, share: told.append(share))
    assert found == Here().analyse(design, STORES, (), silent)
    assert found.inputs == OwnProcess().inputs_of(design, STORES)
    assert len(told) > 2
    assert told == sorted(told)
    assert told[-1] == 1


def test_a_fault_in_it_is_a_sentence_here_and_the_rest_is_in_the_log(
    design: Design, capfd: pytest.CaptureFixture[str]
) -> None:
    broken = Design.from_document(design.document)
    broken._document = {**design.document, "clamp": "nothing"}
    with pytest.raises(AnalysisFailed, match=r"^the program met a fault \(ValidationError\)\. "):
        analyse(OwnProcess(), broken, silent)
    assert "Traceback" in capfd.readouterr().err


@pytest.mark.parametrize(
    ("script", "words"),
    [
        ("import os; os.kill(os.getpid(), 9)", r"ended from outside \(status -9\)"),
        ('print(\'{"analysis": {"in\'); raise SystemExit(3)', r"ended from outside \(status 3\)"),
        ('import time; print(\'{"doing": "a", "share": 0}\', flush=True); time.sleep(60)', "1 s"),
    ],
)
def test_one_that_dies_or_hangs_says_what_happened_and_what_to_do(
    design: Design, script: str, words: str
) -> None:
    with pytest.raises(AnalysisFailed, match=rf"{words}.*Have it computed again"):
        analyse(process(script, longest_s=1), design, silent)


def test_one_that_is_ended_gives_up_at_once_and_begins_no_other(design: Design) -> None:
    script = 'import time; print(\'{"doing": "a", "share": 0}\', flush=True); time.sleep(60)'
    how = process(script)

    def end(_words: str, _share: float) -> None:
        threading.Thread(target=how.end).start()

    with pytest.raises(AnalysisEnded):
        analyse(how, design, end)
    with pytest.raises(AnalysisEnded):
        analyse(how, design, silent)


def test_the_process_ends_when_whoever_started_it_is_gone(design: Design) -> None:
    started = subprocess.Popen(CHILD, stdin=subprocess.PIPE, stdout=subprocess.PIPE)
    assert started.stdin is not None
    assert started.stdout is not None
    job = {"document": design.document, "stores": Stores().model_dump(mode="json")}
    started.stdin.write(json.dumps(job).encode() + b"\n")
    started.stdin.close()
    assert started.wait(ENDS_WITHIN_S) == 1
    started.stdout.close()
