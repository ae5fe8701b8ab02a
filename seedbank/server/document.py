"""The OpenAPI document, with what the framework leaves out: problems, headers required, what the
tags mean, examples with their nulls, and which answers lead where.

``python -m seedbank.server.document api_docs/openapi.json`` writes it to a file.
"""

import json
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from fastapi import FastAPI
from fastapi.openapi.utils import get_openapi
from fastapi.params import Body

from seedbank.server.addresses import each_route
from seedbank.server.document_links import add_links
from seedbank.web.api.preconditions import HEADER_SCHEMAS
from seedbank.web.api.problems import Problem

_SERVERS = [{"url": "/", "description": "Where this document came from."}]
_CONTACT = {"name": "Whoever keeps this collection"}  # every gardener runs a service of their own


def document_with(app: FastAPI) -> None:
    """Make ``app`` serve this document."""

    def document() -> dict[str, Any]:
        if app.openapi_schema is None:
            app.openapi_schema = _document(app)
        return app.openapi_schema

    app.openapi = document  # type: ignore[method-assign]  # the way FastAPI documents


def printed(app: FastAPI) -> str:
    """The document as kept in ``api_docs``: in order of names, so that a change shows as itself."""
    return json.dumps(app.openapi(), indent=2, sort_keys=True, ensure_ascii=False) + "\n"


def write_document(path: Path) -> None:
    """Write the document of an application on an empty collection."""
    from seedbank.server.api import create_app  # which itself needs this module
    from seedbank.settings import Settings

    path.write_text(printed(create_app(Settings(database_url="sqlite://"))), "utf-8")


def _document(app: FastAPI) -> dict[str, Any]:
    document = get_openapi(
        title=app.title,
        version=app.version,
        description=app.description,
        contact=_CONTACT,
        servers=_SERVERS,
        tags=_tags(),
        routes=app.routes,
    )
    schemas = document.setdefault("components", {}).setdefault("schemas", {})
    problem = Problem.model_json_schema(ref_template="#/components/schemas/{model}")
    schemas |= problem.pop("$defs")
    schemas[Problem.__name__] = problem
    for schema in schemas.values():
        _even_pairs(schema)
    for method, operation in _operations(document):
        _require_headers(operation)
        if method != "get":
            operation["responses"].pop("304", None)
    _keep_examples(document)
    add_links(document)
    return document


def _operations(document: dict[str, Any]) -> Iterator[tuple[str, dict[str, Any]]]:
    for path in document["paths"].values():
        yield from path.items()


def _tags() -> list[dict[str, str]]:
    """Each tag with the first words of the module that serves it."""
    tags: dict[str, str] = {}
    for route in each_route():
        about = sys.modules[route.endpoint.__module__].__doc__ or ""
        for tag in route.tags:
            tags.setdefault(str(tag), " ".join(about.split("\n\n")[0].split()))
    return [{"name": name, "description": about} for name, about in tags.items()]


def _require_headers(operation: dict[str, Any]) -> None:
    # The routes take them as optional, to say in plain words what is missing.
    for parameter in operation.get("parameters", ()):
        if parameter["in"] == "header" and parameter["name"] in HEADER_SCHEMAS:
            parameter["required"] = True
            parameter["schema"].pop("anyOf")
            parameter["schema"].update(HEADER_SCHEMAS[parameter["name"]])


def _even_pairs(schema: Any) -> None:
    """Write a tuple of like things as an array of them, which more readers know."""
    if isinstance(schema, dict):
        first, *others = schema.get("prefixItems", [None])
        if first is not None and all(other == first for other in others):
            del schema["prefixItems"]
            schema["items"] = first
    for part in schema.values() if isinstance(schema, dict) else schema:
        if isinstance(part, dict | list):
            _even_pairs(part)


def _keep_examples(document: dict[str, Any]) -> None:
    """Put the examples in again: the framework drops the nulls out of them."""
    for route in each_route():
        for method in route.methods or ():
            operation = document["paths"][route.path][method.lower()]
            asked = operation.get("requestBody", {}).get("content", {}).get("application/json", {})
            form = route.body_field.field_info if route.body_field is not None else None
            if "examples" in asked and isinstance(form, Body):
                asked["examples"] = form.openapi_examples
            for status, told in route.responses.items():
                for media, content in told.get("content", {}).items():
                    if "example" in content:
                        answer = operation["responses"][str(status)]["content"][media]
                        answer["example"] = content["example"]


if __name__ == "__main__":
    write_document(Path(sys.argv[1]))
