"""The API's description: problems in their one form, and the page that shows it."""

from __future__ import annotations

from http import HTTPStatus
from typing import Any

from fastapi import FastAPI

from api.routes.api.models import Problem
from api.routes.problems import PROBLEM_JSON

DOCUMENT_PATH = "/api/openapi.json"
REFERENCE = {"$ref": "#/components/schemas/Problem"}
METHODS = frozenset({"get", "post", "put", "patch", "delete"})
# What the guards in front of every route answer, and what more they answer to a change.
TO_ALL = (400, 431)
TO_CHANGES = (403, 408, 413, 415, 429)


def may_answer(*statuses: int) -> dict[int | str, dict[str, Any]]:
    """Declares problems that a route can answer with."""
    return {
        status: {
            "description": HTTPStatus(status).phrase,
            "content": {PROBLEM_JSON: {"schema": REFERENCE}},
        }
        for status in statuses
    }


def describe(app: FastAPI) -> None:
    """Has the document name the problem's form, and none of the framework's own."""
    made = app.openapi

    def document() -> dict[str, Any]:
        if app.openapi_schema is None:
            schema = made()
            schemas = schema.setdefault("components", {}).setdefault("schemas", {})
            schemas["Problem"] = Problem.model_json_schema()
            for name in ("HTTPValidationError", "ValidationError"):
                schemas.pop(name, None)
            for method, operation in _operations(schema):
                guarded = TO_ALL if method == "get" else TO_ALL + TO_CHANGES
                for status, answer in may_answer(*guarded).items():
                    operation["responses"].setdefault(str(status), answer)
        return app.openapi_schema or {}

    app.openapi = document  # type: ignore[method-assign]


def _operations(schema: dict[str, Any]) -> list[tuple[str, dict[str, Any]]]:
    return [
        (method, operation)
        for path in schema.get("paths", {}).values()
        for method, operation in path.items()
        if method in METHODS
    ]
