"""Which answers lead where, as OpenAPI links: worked out from the paths, not kept by hand.

A model has a *home*: the path that shows one of it, such as ``/lots/{code}`` for ``LotAnswer``.
Every answer that is, or holds, such a model leads to the home and to all below it (with the ETag
just told, where a version is asked for), and to whatever asks for one by name: a lot's code in
the query or body field ``lot``, a variety's number in ``variety`` or ``variety_id``.
"""

import re
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

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
