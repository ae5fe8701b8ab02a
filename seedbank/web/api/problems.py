"""Errors answered as RFC 9457 problems."""

import logging
from http import HTTPStatus

from fastapi import FastAPI, Request
from fastapi.exceptions import RequestValidationError
from fastapi.responses import JSONResponse
from pydantic import BaseModel, Field
from starlette.exceptions import HTTPException

from seedbank.common.catalogue import text_of
from seedbank.common.errors import Busy, StockFault
from seedbank.common.safe_text import FieldError, field_error, plain, shown
from seedbank.database.database_faults import DATABASE_FAULTS, ailment_of
from seedbank.science.quantities import Finding
from seedbank.web.api.problem_types import (
    BAD_VALUE,
    DATABASE,
    DOUBTED,
    FAILURE,
    STALE,
    ProblemType,
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
    code: str = Field(default="", description="what is wrong, as a stable code; may be empty")
    numbers: dict[str, float] = Field(default_factory=dict, description="the numbers in it")
    names: dict[str, str] = Field(
        default_factory=dict, description="what has a name, a code or a day (ISO 8601) in it"
    )


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
        confirmed = _beside(field, "confirmed")
        mend = text_of(Finding("doubted-mend", {"mend": mend, "confirmed": confirmed}))
    fault = FieldError(field=field, value=shown(value), mend=mend)
    response = _problem(request, kind, str(error), [fault], error.finding)
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
    detail = " ".join(f"{f.field}: {f.mend}" if f.field else f.mend for f in faults)
    return _problem(request, BAD_VALUE, detail or BAD_VALUE.title, faults)


def _on_http(request: Request, error: Exception) -> JSONResponse:
    assert isinstance(error, HTTPException)
    known = error.status_code in (400, 404, 405, 413)
    mend = text_of(Finding(f"http-{error.status_code}")) if known else str(error.detail)
    fault = FieldError(field="", value=request.url.path, mend=mend)
    response = _problem(request, error.status_code, mend, [fault])
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
    log.error("%s %s: %s", request.method, request.url.path, ailment.text, exc_info=error)
    fault = FieldError(field="", value=None, mend=ailment.mend)
    response = _problem(request, DATABASE, ailment.text, [fault], Finding(ailment.code))
    response.headers["Retry-After"] = str(ailment.retry_after_s)
    return response


def _on_failure(request: Request, error: Exception) -> JSONResponse:
    log.error("%s %s failed", request.method, request.url.path, exc_info=error)
    fault = FieldError(field="", value=None, mend=text_of(Finding("look-in-log")))
    return _problem(request, FAILURE, FAILURE.meaning, [fault])


def _problem(
    request: Request,
    kind: ProblemType | int,
    detail: str,
    faults: list[FieldError],
    finding: Finding | None = None,
) -> JSONResponse:
    """``kind`` is a type of ours, or else the status alone."""
    if isinstance(kind, ProblemType):
        address, title, status = f"/problems/{kind.slug}", kind.title, kind.status
    else:
        address, title, status = "about:blank", HTTPStatus(kind).phrase, kind
    body = Problem(
        type=address,
        title=title,
        status=status,
        detail=plain(detail),
        instance=request.url.path,
        errors=faults,
        code=finding.code if finding else "",
        numbers=finding.numbers if finding else {},
        names=finding.names if finding else {},
    )
    return JSONResponse(body.model_dump(), status_code=status, media_type=MEDIA_TYPE)
