"""Request bodies, each with a worked example made from the form itself."""

from typing import Any

from fastapi import Body
from pydantic import BaseModel

from seedbank.web.api.examples import worked_example


def body(form: type[BaseModel], *leave_out: str) -> Any:
    """The body of a request; ``leave_out`` names fields the example goes without."""
    example = worked_example(form)
    for name in leave_out:
        example.pop(name, None)
    return Body(openapi_examples={"worked": {"summary": form.__name__, "value": example}})
