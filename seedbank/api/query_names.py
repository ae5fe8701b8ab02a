"""Addresses are read strictly: a misspelt query parameter, ignored, would answer another question,
and a NUL character is no text to any database."""

import difflib

from fastapi import Request
from fastapi.dependencies.models import Dependant
from fastapi.routing import APIRoute
from pydantic import BaseModel

from seedbank.service.errors import Refused


def plain_address(request: Request) -> None:
    """Raise Refused for a NUL character, or the first query parameter not taken here."""
    for name, value in (*request.path_params.items(), *request.query_params.multi_items()):
        if "\0" in f"{name}{value}":
            raise Refused(name, str(value), "Leave the NUL character out.")
    route = request.scope.get("route")
    if not request.query_params or not isinstance(route, APIRoute):
        return
    names = sorted(_names(route.dependant))
    for asked in request.query_params:
        if asked not in names:
            raise Refused(asked, request.query_params[asked], _mend(asked, names))


def _names(dependant: Dependant) -> set[str]:
    """Query parameters of an operation and of everything it depends on."""
    own = (_spread(field.alias, field.field_info.annotation) for field in dependant.query_params)
    return set().union(*own, *(_names(inner) for inner in dependant.dependencies))


def _spread(name: str, annotation: object) -> set[str]:
    """A form read from the query is asked for by the names of its fields."""
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return {field.alias or own for own, field in annotation.model_fields.items()}
    return {name}


def _mend(asked: str, names: list[str]) -> str:
    if not names:
        return "Leave it out: this address takes no query parameters."
    close = difflib.get_close_matches(asked, names, n=1)
    return f"Did you mean {close[0]}?" if close else f"This address takes {', '.join(names)}."
