"""Requests turned away at the door: a page for a browser, a problem (RFC 9457) for programs."""

from http import HTTPStatus

from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.types import Scope

from seedbank.web.pages.page_route import fault_page

_SHOWN = 200  # characters of a refused value


def refusal(
    scope: Scope, status: int, detail: str, *, field: str, value: str | None, mend: str
) -> Response:
    """What is wrong with the request's ``field``, and what to do."""
    request = Request(scope)
    if "text/html" in request.headers.get("accept", ""):
        return fault_page(request, status, detail, mend)
    problem = {
        "type": "about:blank",
        "title": HTTPStatus(status).phrase,
        "status": status,
        "detail": detail,
        "instance": scope["path"],
        "errors": [{"field": field, "value": value and value[:_SHOWN], "mend": mend}],
    }
    return JSONResponse(problem, status, media_type="application/problem+json")
