"""The OpenAPI document, with what the framework leaves out, and which answers lead where.

Problems, headers required, what the tags mean, examples with their nulls. ``python -m
seedbank.server.document api_docs/openapi.json`` writes it to a file.

Links are worked out from the paths, not kept by hand. A model has a *home*: the path that shows
one of it, such as ``/lots/{code}`` for ``LotAnswer``. Every answer that is, or holds, such a
model leads to the home and to all below it (with the ETag just told, where a version is asked
for), and to whatever asks for one by name: a lot's code in the query or body field ``lot``, a
variety's number in ``variety`` or ``variety_id``.
"""

import json
import re
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from fastapi import FastAPI
from fastapi.openapi.utils import get_openapi
from fastapi.params import Body
from fastapi.routing import APIRoute

from seedbank.access.tables import Rights
from seedbank.common.errors import StockFault
from seedbank.server.api_routers import ROUTERS
from seedbank.server.guards import refusal_problem
from seedbank.server.token_guard import OPEN, rights_needed
from seedbank.web.api.preconditions import HEADER_SCHEMAS
from seedbank.web.api.problems import MEDIA_TYPE, Problem

Json = dict[str, Any]
_REF = "#/components/schemas/"
_PARAMETER = re.compile(r"/([a-z-]+)/\{(\w+)\}")


@dataclass(frozen=True, slots=True)
class _Home:
    """Where one of a model is shown."""

    path: str
    known_by: str  # field of the answer that the path's last parameter stands for
    may_be_none: bool  # as of a plan not kept yet, which leads nowhere

    def known_from(self, path: str) -> bool:
        """Does what ``path`` answers with always have its number?"""
        return not self.may_be_none or f"{self.path}/".startswith(f"{path}/")

    @property
    def called(self) -> tuple[str, ...]:
        """What queries and bodies call a reference to one: ``variety``, ``variety_id``."""
        one = _one(_PARAMETER.findall(self.path)[-1][0])
        return (one, f"{one}_id")


def add_links(document: Json) -> None:
    """Put links into every answer that shows something with a home."""
    operations = [
        (path, operation)
        for path, methods in document["paths"].items()
        for operation in methods.values()
    ]
    homes = _homes(document)
    shared = document["components"].setdefault("links", {})
    for path, operation in operations:
        for answer in _good(operation):
            for model, at in _models(document, answer):
                if model not in homes or not homes[model].known_from(path):
                    continue
                links = _links(
                    document, homes[model], at, path, "ETag" in answer.get("headers", ())
                )
                for name, link in links:
                    shared_name = f"{model}{at.replace('/', '-')}-{name}"
                    shared.setdefault(shared_name, link)
                    answer.setdefault("links", {})[name] = {
                        "$ref": f"#/components/links/{shared_name}"
                    }


def _homes(document: Json) -> dict[str, _Home]:
    homes = {}
    for path, methods in document["paths"].items():
        if not path.endswith("}") or "get" not in methods:
            continue
        for answer in _good(methods["get"]):
            model = _model(answer)
            properties = document["components"]["schemas"].get(model, {}).get("properties", {})
            parameter = _PARAMETER.findall(path)[-1][1]
            if model and parameter in properties:
                homes[model] = _Home(path, parameter, "anyOf" in properties[parameter])
    return homes


def _good(operation: Json) -> Iterator[Json]:
    for status, answer in operation["responses"].items():
        if status.startswith("2") and "content" in answer:
            yield answer


def _model(answer: Json) -> str:
    schema: Json = answer["content"].get("application/json", {}).get("schema", {})
    return str(schema.get("$ref", "")).removeprefix(_REF)


def _models(document: Json, answer: Json) -> Iterator[tuple[str, str]]:
    """The model answered, and those its fields hold, each with the place in the body."""
    model = _model(answer)
    yield model, ""
    properties = document["components"]["schemas"].get(model, {}).get("properties", {})
    for name, field in properties.items():
        if "$ref" in field:
            yield field["$ref"].removeprefix(_REF), f"/{name}"


def _links(
    document: Json, home: _Home, at: str, asked: str, tagged: bool
) -> Iterator[tuple[str, Json]]:
    for path, methods in document["paths"].items():
        for operation in methods.values():
            if path == home.path or path.startswith(f"{home.path}/"):
                link = _below(home, at, asked, operation if tagged and not at else {})
            else:
                link = _by_name(document, home, at, operation)
            if link:
                link["operationId"] = operation["operationId"]
                yield operation["operationId"], link


def _below(home: _Home, at: str, asked: str, operation: Json) -> Json:
    parameters = {}
    for collection, name in _PARAMETER.findall(home.path):
        if name == home.known_by:
            parameters[f"path.{name}"] = f"$response.body#{at}/{name}"
        elif f"{{{name}}}" in asked:
            parameters[f"path.{name}"] = f"$request.path.{name}"
        else:
            parameters[f"path.{name}"] = f"$response.body#{at}/{_one(collection)}"
    if any(parameter["name"] == "if-match" for parameter in operation.get("parameters", ())):
        parameters["header.if-match"] = "$response.header.ETag"
    return {"parameters": parameters}


def _by_name(document: Json, home: _Home, at: str, operation: Json) -> Json:
    value = f"$response.body#{at}/{home.known_by}"
    link: Json = {}
    for parameter in operation.get("parameters", ()):
        if parameter["in"] == "query" and parameter["name"] in home.called:
            link.setdefault("parameters", {})[f"query.{parameter['name']}"] = value
    content = operation.get("requestBody", {}).get("content", {}).get("application/json")
    if content and operation["responses"].get("201"):
        form = document["components"]["schemas"][content["schema"]["$ref"].removeprefix(_REF)]
        named = [name for name in home.called if name in form.get("required", ())]
        if named:
            example = content["examples"]["worked"]["value"]
            link["requestBody"] = example | dict.fromkeys(named, value)
    return link


def _one(collection: str) -> str:
    """One of them: ``variety`` of ``varieties``, ``seed_crop`` of ``seed-crops``."""
    return re.sub("s$", "", re.sub("ies$", "y", collection)).replace("-", "_")


def each_route() -> Iterator[APIRoute]:
    """Every address and method the API takes, router by router."""
    for router in ROUTERS:
        yield from (route for route in router.routes if isinstance(route, APIRoute))


_SERVERS = [{"url": "/", "description": "Where this document came from."}]
_CONTACT = {"name": "Whoever keeps this collection"}  # every gardener runs a service of their own


def printed(app: FastAPI) -> str:
    """The document as kept in ``api_docs``: in order of names, so that a change shows as itself."""
    return json.dumps(app.openapi(), indent=2, sort_keys=True, ensure_ascii=False) + "\n"


def write_document(path: Path) -> None:
    """Write the document of an application on an empty collection."""
    from seedbank.server.api import create_app  # which itself needs this module
    from seedbank.settings import Settings

    path.write_text(printed(create_app(Settings(database_url="sqlite://"))), "utf-8")


def document_of(app: FastAPI) -> dict[str, Any]:
    """The document of all that ``app`` has routes for."""
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
    document["components"]["securitySchemes"] = _SCHEMES
    for path, method, operation in _operations(document):
        _require_headers(operation)
        if method != "get":
            operation["responses"].pop("304", None)
        operation["security"] = _security(path, method)
        operation["responses"] |= _refusals(path, method, operation)
    _keep_examples(document)
    _share_problems(document)
    add_links(document)
    return document


def _operations(document: Json) -> Iterator[tuple[str, str, Json]]:
    """Path, method and operation of each."""
    for path, methods in document["paths"].items():
        for method, operation in methods.items():
            yield path, method, operation


_SCHEMES: Json = {
    f"{rights}-token": {
        "type": "http",
        "scheme": "bearer",
        "description": f"A token with the rights of {article} {rights} or more. None is asked for "
        "where the service is served to its own machine alone.",
    }
    for rights, article in ((Rights.READER, "a"), (Rights.KEEPER, "a"), (Rights.OWNER, "an"))
}
_REFUSALS = {
    401: StockFault("token-missing", "Authorization"),
    403: StockFault("rights-too-few", "Authorization", rights=Rights.READER.value),
    413: StockFault("request-too-large", "Content-Length", "5000000", most=2_000_000),
    421: StockFault("host-not-ours", "Host", "elsewhere.example"),
    429: StockFault("too-many-requests"),
}
"""What is answered before a request reaches the program, with an example of each."""
_RETRY = {"Retry-After": "Seconds until it may be tried again."}
_HEADERS = {
    401: {"WWW-Authenticate": "That a bearer token is asked for."},
    429: _RETRY,
    503: _RETRY,
}


def _security(path: str, method: str) -> list[Json]:
    """None, or a token with the rights needed; the empty one: none is asked for at home."""
    if path in OPEN:
        return []
    return [{}, {f"{rights_needed(path, method.upper())}-token": []}]


def _refusals(path: str, method: str, operation: Json) -> Json:
    """The problems of an operation that the guards in front of it may answer with, by status."""
    can_be = {421}
    if path not in OPEN:
        can_be |= {401, 429}
        if rights_needed(path, method.upper()) is not Rights.READER:
            can_be.add(403)
    if "requestBody" in operation:
        can_be.add(413)
    return {str(status): _refusal(status) for status in sorted(can_be)}


def _refusal(status: int) -> Json:
    example = refusal_problem(status, _REFUSALS[status], "/the/path/asked")
    schema = {"$ref": f"{_REF}{Problem.__name__}"}
    return {
        "description": f"{example['title']}.",
        "content": {MEDIA_TYPE: {"schema": schema, "example": example}},
    }


def _share_problems(document: Json) -> None:
    """Write each problem once, for operations to refer to: they are half the document otherwise."""
    shared = document["components"]["responses"] = {}
    for _, _, operation in _operations(document):
        for status, answer in operation["responses"].items():
            if MEDIA_TYPE not in answer.get("content", {}):
                continue
            name = f"Problem{status}"
            told = _HEADERS.get(int(status), {})
            headers = {
                header: {"description": about, "schema": {"type": "string"}}
                for header, about in told.items()
            }
            shared[name] = answer | ({"headers": headers} if headers else {})
            operation["responses"][status] = {"$ref": f"#/components/responses/{name}"}


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
            for status, response in route.responses.items():
                for media, content in response.get("content", {}).items():
                    if "example" in content:
                        answer = operation["responses"][str(status)]["content"][media]
                        answer["example"] = content["example"]


if __name__ == "__main__":
    write_document(Path(sys.argv[1]))
