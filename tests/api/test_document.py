"""The OpenAPI document: every operation with examples that hold, every header that is needed."""

from typing import Any

import pytest
from fastapi.routing import APIRoute
from pydantic import BaseModel

from seedbank.server.api import create_app
from seedbank.server.api_routers import ROUTERS
from seedbank.settings import Settings
from tests.api.conftest import Hand

ROUTES = [route for router in ROUTERS for route in router.routes if isinstance(route, APIRoute)]
ASKING = [route for route in ROUTES if route.body_field is not None]
POSTS = [route for route in ROUTES if "POST" in route.methods]


def name(route: APIRoute) -> str:
    return f"{sorted(route.methods)[0]} {route.path}"


@pytest.fixture(scope="module")
def document() -> dict[str, Any]:
    return create_app(Settings(database_url="sqlite://")).openapi()


def operations(document: dict[str, Any]) -> list[tuple[str, str, dict[str, Any]]]:
    return [
        (method, path, operation)
        for path, methods in document["paths"].items()
        for method, operation in methods.items()
    ]


def is_file(answer: dict[str, Any]) -> bool:
    """Whether bytes are answered, which have no example."""
    return all(
        content.get("schema", {}).get("format") == "binary"
        for content in answer["content"].values()
    )


def test_every_operation_has_an_example_of_what_is_asked_and_answered(
    document: dict[str, Any],
) -> None:
    for method, path, operation in operations(document):
        where = f"{method} {path}"
        if "requestBody" in operation:
            content = operation["requestBody"]["content"]["application/json"]
            assert content["examples"]["worked"]["value"], where
        good = sorted(code for code in operation["responses"] if code.startswith("2"))
        # Two only where something is made unless it was there before.
        assert good in (["200"], ["201"], ["204"], ["200", "201"]), where
        for code in good:
            answer = operation["responses"][code]
            if code != "204" and not is_file(answer):
                assert answer["content"]["application/json"]["example"], where
        for parameter in operation.get("parameters", ()):
            named = "description" in parameter or "schema" in parameter
            assert named, f"{where}: {parameter['name']}"


@pytest.mark.parametrize("route", ASKING, ids=name)
def test_the_example_asked_is_a_valid_form(route: APIRoute) -> None:
    assert route.body_field is not None
    form = route.body_field.field_info.annotation
    assert isinstance(form, type)
    assert issubclass(form, BaseModel)
    examples = route.body_field.field_info.openapi_examples  # type: ignore[attr-defined]  # a Body
    form.model_validate(examples["worked"]["value"])


@pytest.mark.parametrize("route", ROUTES, ids=name)
def test_the_example_answered_is_a_valid_answer(route: APIRoute) -> None:
    told = {code: answer for code, answer in route.responses.items() if int(code) < 300}
    assert told
    for code, answer in told.items():
        if "model" not in answer:
            assert code == 204 or is_file(answer)
            continue
        answer["model"].model_validate(answer["content"]["application/json"]["example"])


def test_every_post_requires_a_key_and_every_change_a_version(document: dict[str, Any]) -> None:
    for method, path, operation in operations(document):
        needed = {
            parameter["name"]
            for parameter in operation.get("parameters", ())
            if parameter["in"] == "header" and parameter["required"]
        }
        wanted = {
            "post": {"idempotency-key"},
            "patch": {"if-match"},
            "put": {"if-match"},
            "delete": {"if-match"},
            "get": set(),
        }
        assert needed == wanted[method], f"{method} {path}"


@pytest.mark.parametrize("route", POSTS, ids=name)
def test_every_post_without_a_key_is_refused(hand: Hand, route: APIRoute) -> None:
    path = route.path.replace("{id}", "1").replace("{code}", hand.lot()).replace("{serial}", "1")
    example = None
    if route.body_field is not None:
        examples = route.body_field.field_info.openapi_examples  # type: ignore[attr-defined]  # a Body
        example = examples["worked"]["value"]
    before = hand.dump()
    response = hand.client.post(path, json=example)
    assert response.status_code == 400
    assert response.json()["type"] == "/problems/key-required"
    assert hand.dump() == before


def test_operation_ids_are_tag_and_function_name_and_differ(document: dict[str, Any]) -> None:
    names = [operation["operationId"] for _, _, operation in operations(document)]
    assert len(names) == len(set(names))
    assert "germination-tests-record_whole" in names


def test_problems_are_the_only_way_to_fail(document: dict[str, Any]) -> None:
    assert "HTTPValidationError" not in document["components"]["schemas"]
    for method, path, operation in operations(document):
        for code, answer in operation["responses"].items():
            if int(code) >= 400:
                name = answer["$ref"].removeprefix("#/components/responses/")
                content = document["components"]["responses"][name]["content"]
                assert list(content) == ["application/problem+json"], f"{method} {path} {code}"


def test_every_reference_in_the_document_leads_somewhere(document: dict[str, Any]) -> None:
    known = {name for group in document["components"].values() for name in group}

    def references(part: Any) -> set[str]:
        if isinstance(part, dict):
            own = {part["$ref"].rsplit("/", 1)[1]} if "$ref" in part else set()
            return own.union(*(references(value) for value in part.values()))
        if isinstance(part, list):
            return set().union(*(references(value) for value in part))
        return set()

    assert references(document) <= known


def test_every_field_of_a_form_is_described(document: dict[str, Any]) -> None:
    for route in ROUTES:
        if route.body_field is None:
            continue
        form = route.body_field.field_info.annotation
        assert isinstance(form, type)
        assert issubclass(form, BaseModel)
        for name, field in form.model_fields.items():
            assert field.description, f"{form.__name__}.{name}"
    assert document["info"]["description"]


def test_answers_lead_on_to_what_can_be_done_with_what_they_show(
    document: dict[str, Any],
) -> None:
    made = document["paths"]["/lots"]["post"]["responses"]["201"]["links"]
    below = {name for name in made if name.startswith(("lots", "movements", "advice"))}
    assert {"lots-show", "lots-change", "movements-record", "advice-viability"} <= below
    shared = document["components"]["links"]
    assert shared["LotAnswer-lots-change"]["parameters"] == {
        "path.code": "$response.body#/code",
        "header.if-match": "$response.header.ETag",
    }
    assert shared["MovementAnswer-movements-undo"]["parameters"] == {
        "path.code": "$request.path.code",
        "path.serial": "$response.body#/serial",
    }
    begun = shared["LotAnswer-germination-tests-start"]["requestBody"]
    assert begun["lot"] == "$response.body#/code"
    assert begun["replicates"] == [25, 25]
    for one in ("sowings-count_emergence", "germination-tests-count", "seed-crops-harvest"):
        assert any(name.endswith(f"Answer-{one}") for name in shared), one


def test_every_link_gives_parameters_its_operation_has(document: dict[str, Any]) -> None:
    has = {
        operation["operationId"]: {
            f"{parameter['in']}.{parameter['name']}"
            for parameter in operation.get("parameters", ())
        }
        for _, _, operation in operations(document)
    }
    for name, link in document["components"]["links"].items():
        assert set(link.get("parameters", ())) <= has[link["operationId"]], name


def test_every_tag_is_described(document: dict[str, Any]) -> None:
    described = {tag["name"] for tag in document["tags"] if tag["description"]}
    used = {tag for _, _, operation in operations(document) for tag in operation["tags"]}
    assert used == described


@pytest.mark.parametrize("route", ROUTES, ids=name)
def test_what_is_sent_is_read_by_validators_built_beforehand(route: APIRoute) -> None:
    asked = [*route.dependant.query_params, *route.dependant.body_params]
    assert all(field._type_adapter.pydantic_complete for field in asked)


def test_every_operation_names_the_rights_it_asks_for_and_how_it_refuses(
    document: dict[str, Any],
) -> None:
    needed = {
        (method, path): [name for token in operation["security"] for name in token]
        for method, path, operation in operations(document)
    }
    assert needed["get", "/lots"] == ["reader-token"]
    assert needed["post", "/lots"] == ["keeper-token"]
    assert needed["get", "/audit-trail"] == needed["get", "/export"] == ["owner-token"]
    assert [path for (_, path), rights in needed.items() if not rights] == ["/health"]
    for method, path, operation in operations(document):
        refused = {int(code) for code in operation["responses"]}
        assert refused >= ({401, 421, 429, 503} if needed[method, path] else {421, 503}), path
        assert (403 in refused) == (needed[method, path] in (["keeper-token"], ["owner-token"])), (
            path
        )
        assert (413 in refused) == ("requestBody" in operation), path
