"""The result of a computation over the JSON API."""

from __future__ import annotations

import httpx

from api.domain.analyses.result import Result
from api.domain.records import Computation
from tests.routes.api.test_reading import assert_problem
from tests.support.analyses import sad_20
from tests.support.shop import Shop

ADDRESS = "/api/designs/SAD-20/B/analysis"


def keep(shop: Shop, **outcome: object) -> None:
    _, analysis = sad_20()
    now = shop.clock.now()
    kept = Computation(
        analysis.inputs,
        analysis.method,
        "SAD-20",
        "B",
        now,
        now,
        **outcome,  # type: ignore[arg-type]
    )
    with shop.uow as uow:
        uow.analyses.save(kept)
        uow.commit()


def test_a_finished_computation_is_its_result_key_for_key(client: httpx.Client, shop: Shop) -> None:
    _, analysis = sad_20()
    keep(shop, state="done", progress=1.0, result=analysis.model_dump(mode="json"))
    answer = client.get(ADDRESS)
    assert answer.status_code == httpx.codes.OK
    told = Result.model_validate_json(answer.text)
    assert told.model_copy(update={"checks": []}) == analysis.result.model_copy(
        update={"checks": []}
    )
    own = {check.code for check in analysis.result.checks}
    assert own <= {check.code for check in told.checks}


def test_one_that_runs_or_failed_is_a_problem_that_says_so(
    client: httpx.Client, shop: Shop
) -> None:
    keep(shop, state="running", progress=0.62, doing="bending the plate")
    problem = assert_problem(client.get(ADDRESS), 409, "clash")
    assert "is still running (62 %)" in problem["detail"]
    keep(shop, state="failed", failure="it was given up after 300 s.")
    problem = assert_problem(client.get(ADDRESS), 409, "clash")
    assert "failed: it was given up after 300 s." in problem["detail"]


def test_a_revision_that_was_never_computed_is_not_found(client: httpx.Client) -> None:
    problem = assert_problem(client.get(ADDRESS), 404, "not-found")
    assert "never computed" in problem["detail"]
    assert_problem(client.get("/api/designs/NONE/B/analysis"), 404, "not-found")
