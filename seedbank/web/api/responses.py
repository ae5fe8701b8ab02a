"""What an operation takes and answers: models and worked examples for OpenAPI, and the sending."""

import os
from collections.abc import Iterator
from typing import IO, Any, Final, get_args

from fastapi import Body, Query, Response
from fastapi.responses import StreamingResponse
from pydantic import BaseModel
from pydantic.fields import FieldInfo
from starlette.datastructures import Headers
from starlette.types import Receive, Scope, Send

from seedbank.database.run_once import Answer
from seedbank.web.api.paging import Page
from seedbank.web.api.preconditions import etag_of, matches_none
from seedbank.web.api.problem_types import PROBLEM_TYPES
from seedbank.web.api.problems import MEDIA_TYPE, Problem

_PIECE: Final = 1 << 16


def worked_example(model: type[BaseModel]) -> dict[str, Any]:
    """JSON of a plausible ``model``: each field's first example, or its default, or its type's.

    Fields that must not stand together leave the example out of one of them (and it is omitted).
    """
    example = {}
    for name, field in model.model_fields.items():
        found, value = _field_example(field)
        if found:
            example[name] = value
    return example


def _field_example(field: FieldInfo) -> tuple[bool, Any]:
    if field.examples:
        return True, field.examples[0]
    inner = _model_in(field.annotation)
    if inner is not None:
        one = worked_example(inner)
        return True, [one] if "list" in str(field.annotation) else one
    return False, None


def _model_in(annotation: Any) -> type[BaseModel] | None:
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return annotation
    for argument in get_args(annotation):
        found = _model_in(argument)
        if found is not None:
            return found
    return None


Responses = dict[int | str, dict[str, Any]]
_TEXT = {"schema": {"type": "string"}}


def tells(
    model: type[BaseModel] | None, status: int = 200, *, problems: tuple[int, ...] = ()
) -> Responses:
    """The ``responses`` of an operation that answers with ``model``."""
    responses: Responses = {status: _success(model, status)}
    if model is not None and status == 200:
        responses[304] = {"description": "As you have it (If-None-Match)."}
    for code in dict.fromkeys((*problems, 500, 503)):
        responses[code] = _problem(code)
    return responses


def tells_nothing_new(model: type[BaseModel]) -> Responses:
    """Of an operation that makes things: the answer when all of it was there before."""
    return {200: _success(model, 200) | {"description": "Nothing new: all was there before."}}


def tells_page(item: type[BaseModel], *, problems: tuple[int, ...] = (422,)) -> Responses:
    """The ``responses`` of an operation that answers with pages of ``item``."""
    example = {"items": [worked_example(item)], "next": None}
    responses: Responses = {
        200: {
            "model": Page[item],  # type: ignore[valid-type]  # a model made for this item type
            "description": "One page.",
            "content": {"application/json": {"example": example}},
            "headers": {"Link": {"description": "The next page, rel=next.", **_TEXT}},
        }
    }
    for code in (*problems, 500, 503):
        responses[code] = _problem(code)
    return responses


def tells_file(media_type: str, description: str, *, problems: tuple[int, ...] = ()) -> Responses:
    """The ``responses`` of an operation that answers with a file."""
    content = {media_type: {"schema": {"type": "string", "format": "binary"}}}
    responses: Responses = {200: {"description": description, "content": content}}
    return responses | {code: _problem(code) for code in (*problems, 500, 503)}


def sent_file(file: IO[bytes], name: str, media_type: str) -> StreamingResponse:
    """A file that was written just now, from its beginning; it is closed once it is sent."""
    headers = {
        "Content-Disposition": f'attachment; filename="{name}"',
        "Content-Length": str(file.seek(0, os.SEEK_END)),
    }
    return StreamingResponse(_pieces(file), media_type=media_type, headers=headers)


def _pieces(file: IO[bytes]) -> Iterator[bytes]:
    with file:
        file.seek(0)
        while piece := file.read(_PIECE):
            yield piece


class _Sent(Response):
    """An answer that spares its body when the client has it already."""

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        etag = self.headers.get("ETag")
        known = Headers(scope=scope).get("If-None-Match")
        if etag and scope["method"] == "GET" and matches_none(known, etag):
            await Response(status_code=304, headers={"ETag": etag})(scope, receive, send)
        else:
            await super().__call__(scope, receive, send)


def sent(model: BaseModel) -> Response:
    """Answer a GET or PATCH; what has a version goes with its ETag."""
    body = model.model_dump_json()
    etag = _etag(model, body)
    return _Sent(body, media_type="application/json", headers={"ETag": etag} if etag else None)


def created(model: BaseModel, location: str, *, of: BaseModel | None = None) -> Answer:
    """A thing made, and where it lives: ``"/sites/{0.id}"``, 0 being the model.

    ``of``: the thing at that address, where the model tells of more.
    """
    body = model.model_dump_json()
    return Answer(201, body, location.format(model), _etag(of or model, body))


def done(model: BaseModel) -> Answer:
    """A thing changed by a POST that makes nothing with an address of its own."""
    body = model.model_dump_json()
    return Answer(200, body, "", _etag(model, body))


def _etag(model: BaseModel, body: str) -> str:
    version = getattr(model, "version", None)
    return "" if version is None else etag_of(version, body)


def _success(model: type[BaseModel] | None, status: int) -> dict[str, Any]:
    if model is None:
        return {"description": "Done; there is nothing to say."}
    headers = {"ETag": {"description": "Its version, for If-Match and If-None-Match.", **_TEXT}}
    if status == 201:
        headers["Location"] = {"description": "Address of the new thing.", **_TEXT}
    return {
        "model": model,
        "description": "Made." if status == 201 else "As asked.",
        "content": {"application/json": {"example": worked_example(model)}},
        "headers": headers,
    }


def _problem(status: int) -> dict[str, Any]:
    kinds = [kind for kind in PROBLEM_TYPES if kind.status == status]
    example = {
        "type": f"/problems/{kinds[0].slug}",
        "title": kinds[0].title,
        "status": status,
        "detail": kinds[0].meaning,
        "instance": "/the/path/asked",
        "errors": [{"field": "", "value": None, "mend": kinds[0].meaning}],
    }
    schema = {"$ref": f"#/components/schemas/{Problem.__name__}"}
    return {
        "description": "; ".join(kind.title for kind in kinds) + ".",
        "content": {MEDIA_TYPE: {"schema": schema, "example": example}},
    }


def body(form: type[BaseModel], *leave_out: str) -> Any:
    """The body of a request; ``leave_out`` names fields the example goes without."""
    _built_at_once(form)
    example = worked_example(form)
    for name in leave_out:
        example.pop(name, None)
    return Body(openapi_examples={"worked": {"summary": form.__name__, "value": example}})


def query(form: type[BaseModel]) -> Any:
    """A form whose fields are the parameters of a query."""
    _built_at_once(form)
    return Query()


def _built_at_once(form: type[BaseModel]) -> None:
    form.model_config["defer_build"] = False  # FastAPI warns of forms it has to build later
