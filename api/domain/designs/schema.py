"""The JSON Schema of the design file, made from the models.

It says what a file may contain; what must agree between its parts is for the checker.
"""

from __future__ import annotations

from typing import Any

from api.domain.designs.document import Design

SCHEMA_DIALECT = "https://json-schema.org/draft/2020-12/schema"
_NULL = {"type": "null"}


def design_schema() -> dict[str, Any]:
    """Draft 2020-12, for the JSON form of the TOML document."""
    schema: dict[str, Any] = _as_written(Design.model_json_schema(by_alias=True, mode="validation"))
    return {"$schema": SCHEMA_DIALECT, **schema, "title": "Clampbook design, format 1"}


def _as_written(node: Any) -> Any:
    """TOML has no null, so a field that may be absent is only that; defaults stand as texts."""
    if isinstance(node, list):
        return [_as_written(each) for each in node]
    if not isinstance(node, dict):
        return node
    found = {key: _as_written(value) for key, value in node.items() if key != "default"}
    if "default" in node and (default := _default(node["default"])) is not None:
        found["default"] = default
    if _NULL in found.get("anyOf", []):
        found["anyOf"] = [choice for choice in found["anyOf"] if choice != _NULL]
    return found


def _default(value: Any) -> Any:
    if not isinstance(value, dict):
        return value
    if "text" in value and "dimension" in value:
        return value["text"]
    return {key: _default(each) for key, each in value.items() if each is not None}
