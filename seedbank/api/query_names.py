"""Addresses are read strictly: a misspelt query parameter, ignored, would answer another question,
and a NUL character is no text to any database."""

import difflib
from typing import Any

from fastapi import FastAPI, Request
from fastapi.routing import APIRoute

from seedbank.service.errors import Refused


def plain_address(request: Request) -> None:
    """Raise Refused for a NUL character, or the first query parameter not taken here."""
    for name, value in (*request.path_params.items(), *request.query_params.multi_items()):
        if "\0" in f"{name}{value}":
            raise Refused(name, str(value), "Leave the NUL character out.")
    route = request.scope.get("route")
    if not request.query_params or not isinstance(route, APIRoute):
        return
    names = _names(request.app, route.path, request.method.lower())
    for asked in request.query_params:
        if asked not in names:
            raise Refused(asked, request.query_params[asked], _mend(asked, names))


def _names(app: FastAPI, path: str, method: str) -> list[str]:
    """Names the document lists for the operation; FastAPI keeps the document once made."""
    document: dict[str, Any] = app.openapi()
    operation = document["paths"].get(path, {}).get(method, {})
    parameters = operation.get("parameters", ())
    return sorted(one["name"] for one in parameters if one["in"] == "query")


def _mend(asked: str, names: list[str]) -> str:
    if not names:
        return "Leave it out: this address takes no query parameters."
    close = difflib.get_close_matches(asked, names, n=1)
    return f"Did you mean {close[0]}?" if close else f"This address takes {', '.join(names)}."
