"""The OpenAPI document, with what the framework leaves out: problems, and headers required.

``python -m seedbank.api.document api_docs/openapi.json`` writes it to a file.
"""

import json
import sys
from pathlib import Path
from typing import Any

from fastapi import FastAPI
from fastapi.openapi.utils import get_openapi

from seedbank.api.problems import Problem

_REQUIRED = ("idempotency-key", "if-match")


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
    from seedbank.api.app import create_app  # which itself needs this module
    from seedbank.settings import Settings

    path.write_text(printed(create_app(Settings(database_url="sqlite://"))), "utf-8")


def _document(app: FastAPI) -> dict[str, Any]:
    document = get_openapi(
        title=app.title, version=app.version, description=app.description, routes=app.routes
    )
    schemas = document.setdefault("components", {}).setdefault("schemas", {})
    problem = Problem.model_json_schema(ref_template="#/components/schemas/{model}")
    schemas |= problem.pop("$defs")
    schemas[Problem.__name__] = problem
    for path in document["paths"].values():
        for operation in path.values():
            _require_headers(operation)
    return document


def _require_headers(operation: dict[str, Any]) -> None:
    # The routes take them as optional, to say in plain words what is missing.
    for parameter in operation.get("parameters", ()):
        if parameter["in"] == "header" and parameter["name"] in _REQUIRED:
            parameter["required"] = True
            parameter["schema"] = {
                name: value for name, value in parameter["schema"].items() if name != "anyOf"
            } | {"type": "string"}


if __name__ == "__main__":
    write_document(Path(sys.argv[1]))
