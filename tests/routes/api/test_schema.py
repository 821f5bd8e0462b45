"""Machine-made requests over the API's own description find nothing that is not described."""

from __future__ import annotations

from typing import Any

import httpx
import schemathesis
from hypothesis import HealthCheck, Phase, given, settings
from schemathesis import GenerationMode
from schemathesis.openapi import from_url

from tests.support.shop import STEPS, Shop

MODES = (GenerationMode.POSITIVE, GenerationMode.NEGATIVE)
ASKED = {
    "GET /api/health",
    "GET /api/designs",
    "GET /api/designs/{code}/revisions/{revision}",
    "GET /api/designs/{code}/{revision}/analysis",
    "GET /api/plates",
    "GET /api/plates/{serial}",
    "GET /api/plates/{serial}/history",
    "GET /api/setups/{setup_id}",
    "POST /api/tablets/enrol",
    "POST /api/tablets/challenge",
    "POST /api/tablets/session",
    "POST /api/sync/push",
    "GET /api/sync/pull",
    "GET /api/sync/shop",
}


def test_no_described_request_gets_an_undescribed_answer(client: httpx.Client, shop: Shop) -> None:
    tablet = shop.tablet()
    tablet.open()
    list(tablet.work(STEPS, "sign"))
    shop.push(tablet)
    schema = from_url(f"{client.base_url}/api/openapi.json")
    asked = set()
    for found in schema.get_all_operations():
        operation = found.ok()  # type: ignore[union-attr]
        asked.add(operation.label)
        fuzz(operation, dict(client.cookies))
    assert asked == ASKED


def fuzz(operation: Any, cookies: dict[str, str]) -> None:
    """Every check that schemathesis has, on fitting and (where there is a field) unfitting data."""
    fields = operation.path_parameters, operation.query, operation.headers, operation.body
    for mode in MODES if any(list(one) for one in fields) else MODES[:1]:

        @settings(
            max_examples=40,
            deadline=None,
            database=None,
            phases=[Phase.explicit, Phase.generate],
            suppress_health_check=list(HealthCheck),
        )
        @given(case=operation.as_strategy(generation_mode=mode))
        def run(case: schemathesis.Case[Any]) -> None:
            _even(case)
            case.call_and_validate(cookies=cookies)

        run()


def _even(case: schemathesis.Case[Any]) -> None:
    """As many signatures as events, where the body fits otherwise: no schema can say that."""
    body, fitting = case.body, case.meta is None or case.meta.generation.mode.is_positive
    if fitting and isinstance(body, dict) and {"events", "sigs"} <= body.keys():
        sent: Any = body
        sent["sigs"] = [*sent["sigs"], *[None] * len(sent["events"])][: len(sent["events"])]
