"""Errors answered as RFC 9457 problems."""

import logging
from http import HTTPStatus

from fastapi import FastAPI, Request
from fastapi.exceptions import RequestValidationError
from fastapi.responses import JSONResponse
from pydantic import BaseModel, Field
from starlette.exceptions import HTTPException

from seedbank.common.errors import Busy, StockFault
from seedbank.common.safe_text import FieldError, field_error, plain, shown
from seedbank.database.database_faults import DATABASE_FAULTS, ailment_of
from seedbank.web.api.problem_types import (
    BAD_VALUE,
    DATABASE,
    DOUBTED,
    FAILURE,
    STALE,
    problem_type,
)
from seedbank.web.api.query_names import methods_at

log = logging.getLogger("seedbank.web.api")
MEDIA_TYPE = "application/problem+json"


class Problem(BaseModel):
    """A problem as RFC 9457 shapes it, with the fields at fault."""

    type: str = Field(description="address of the page on this type of problem")
    title: str
    status: int
    detail: str
    instance: str = Field(description="the request's path")
    errors: list[FieldError]


def install_problems(app: FastAPI) -> None:
    """Answer every error of ``app`` as a problem."""
    app.add_exception_handler(StockFault, _on_fault)
    app.add_exception_handler(RequestValidationError, _on_validation)
    app.add_exception_handler(HTTPException, _on_http)
    for fault in DATABASE_FAULTS:
        app.add_exception_handler(fault, _on_database)
    app.add_exception_handler(Exception, _on_failure)


def _on_fault(request: Request, error: Exception) -> JSONResponse:
    assert isinstance(error, StockFault)
    kind = problem_type(error)
    field, value = error.field, error.value
    if kind is STALE:  # a client knows the version only as the header it sent
        field, value = "If-Match", request.headers.get("if-match")
    mend = error.mend
    if kind is DOUBTED:
        mend = f"{mend} If it is so, send it again with {_beside(field, 'confirmed')} true."
    fault = FieldError(field=field, value=shown(value), mend=mend)
    response = _problem(request, kind.slug, kind.title, kind.status, str(error), [fault])
    if isinstance(error, Busy):
        response.headers["Retry-After"] = str(error.retry_after_s)
    return response


def _beside(field: str, name: str) -> str:
    """The path of a field that stands in the same object: ``sowings[1].sown_on`` and its like."""
    within, dot, _ = field.rpartition(".")
    return f"{within}{dot}{name}"


def _on_validation(request: Request, error: Exception) -> JSONResponse:
    assert isinstance(error, RequestValidationError)
    faults = [field_error(one) for one in error.errors()]
    detail = "; ".join(f"{f.field}: {f.mend}" if f.field else f.mend for f in faults)
    return _problem(
        request,
        BAD_VALUE.slug,
        BAD_VALUE.title,
        BAD_VALUE.status,
        detail or BAD_VALUE.title,
        faults,
    )


def _on_http(request: Request, error: Exception) -> JSONResponse:
    assert isinstance(error, HTTPException)
    title = HTTPStatus(error.status_code).phrase
    mends = {
        404: "There is nothing at this address; GET /openapi.json lists what there is.",
        405: "This address doesn't take this method; the header Allow says which it takes.",
        400: "Send the body as JSON in UTF-8.",
        413: "The request is larger than this service takes; send it in parts.",
    }
    mend = mends.get(error.status_code, str(error.detail))
    response = _problem(
        request, "", title, error.status_code, mend,
        [FieldError(field="", value=request.url.path, mend=mend)],
    )  # fmt: skip
    response.headers.update(error.headers or {})
    taken = methods_at(request)
    if error.status_code == 405 and taken:  # the framework names those of the first route alone
        response.headers["Allow"] = ", ".join(sorted(taken))
    return response


def _on_database(request: Request, error: Exception) -> JSONResponse:
    assert isinstance(error, DATABASE_FAULTS)
    ailment = ailment_of(error)
    if ailment is None:
        return _on_failure(request, error)
    log.error("%s %s: %s", request.method, request.url.path, ailment.said, exc_info=error)
    fault = FieldError(field="", value=None, mend=ailment.mend)
    response = _problem(
        request, DATABASE.slug, DATABASE.title, DATABASE.status, ailment.said, [fault]
    )
    response.headers["Retry-After"] = str(ailment.retry_after_s)
    return response


def _on_failure(request: Request, error: Exception) -> JSONResponse:
    log.error("%s %s failed", request.method, request.url.path, exc_info=error)
    mend = "Try again; if it fails again, look in the server's log."
    return _problem(
        request, FAILURE.slug, FAILURE.title, FAILURE.status, FAILURE.meaning,
        [FieldError(field="", value=None, mend=mend)],
    )  # fmt: skip


def _problem(
    request: Request, slug: str, title: str, status: int, detail: str, faults: list[FieldError]
) -> JSONResponse:
    body = Problem(
        type=f"/problems/{slug}" if slug else "about:blank",
        title=title,
        status=status,
        detail=plain(detail),
        instance=request.url.path,
        errors=faults,
    )
    return JSONResponse(body.model_dump(), status_code=status, media_type=MEDIA_TYPE)
