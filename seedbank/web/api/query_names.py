"""Addresses are read strictly: a misspelt query parameter, ignored, would answer another question,
a NUL character is no text to any database, and a word with an address of its own is no number."""

import difflib
from typing import get_origin

from fastapi import Request
from fastapi.dependencies.models import Dependant
from fastapi.routing import APIRoute
from pydantic import BaseModel
from starlette.exceptions import HTTPException

from seedbank.common.errors import Refused


def plain_address(request: Request) -> None:
    """Raise Refused for a NUL character, or the first query parameter not taken here.

    Raises HTTPException 405: ``GET /things/finished``, where there is only a POST of that name, is
    not about the thing called ``finished``.
    """
    if request.method not in methods_at(request):
        raise HTTPException(405)
    for name, value in (*request.path_params.items(), *request.query_params.multi_items()):
        if "\0" in f"{name}{value}":
            raise Refused("nul-character", name, str(value))
    route = request.scope.get("route")
    if not request.query_params or not isinstance(route, APIRoute):
        return
    taken = _taken(route.dependant)
    for asked in dict.fromkeys(name for name, _ in request.query_params.multi_items()):
        values = request.query_params.getlist(asked)
        if asked not in taken:
            raise _unknown(asked, values[-1], sorted(taken))
        if len(values) > 1 and not taken[asked]:
            raise Refused("given-twice", asked, ", ".join(values))


def methods_at(request: Request) -> set[str]:
    """Methods taken at the request's address; one spelt out goes before one with parameters."""
    path = request.url.path
    api = [one for one in request.app.routes if isinstance(one, APIRoute) and one.include_in_schema]
    there = [route for route in api if route.path_regex.match(path)]
    spelt_out = [route for route in there if route.path == path]
    return {method for route in spelt_out or there for method in route.methods or ()}


def _taken(dependant: Dependant) -> dict[str, bool]:
    """Query parameters of an operation and all it depends on, and whether each may be repeated."""
    taken: dict[str, bool] = {}
    for field in dependant.query_params:
        taken |= _spread(field.alias, field.field_info.annotation)
    for inner in dependant.dependencies:
        taken |= _taken(inner)
    return taken


def _spread(name: str, annotation: object) -> dict[str, bool]:
    """A form read from the query is asked for by the names of its fields."""
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        fields = annotation.model_fields.items()
        return {field.alias or own: _many(field.annotation) for own, field in fields}
    return {name: _many(annotation)}


def _many(annotation: object) -> bool:
    return get_origin(annotation) in (list, tuple, set, frozenset)


def _unknown(asked: str, value: str, names: list[str]) -> Refused:
    if not names:
        return Refused("no-query-parameters", asked, value)
    close = difflib.get_close_matches(asked, names, n=1)
    if close:
        return Refused("query-parameter-misspelt", asked, value, close=close[0])
    return Refused("query-parameter-unknown", asked, value, names=", ".join(names))
