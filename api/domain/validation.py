"""From loose values to a model, with one sentence about the first thing that is wrong."""

from __future__ import annotations

from typing import Any, TypeVar

from pydantic import BaseModel, ValidationError

from api.domain.errors import BadInput

Model = TypeVar("Model", bound=BaseModel)


def validated(model: type[Model], body: dict[str, Any]) -> Model:
    """The model made from `body`; raises `BadInput` naming the first wrong field."""
    try:
        return model.model_validate(body)
    except ValidationError as problem:
        error = problem.errors()[0]
        place = ".".join(str(part) for part in error["loc"])
        message = error["msg"].removeprefix("Value error, ")
        raise BadInput(f"{place}: {message}." if place else f"{message}.", field=place) from None
