"""Faults of a page told as a page, and where the next page of a list begins."""

import logging
from collections.abc import Callable, Coroutine
from http import HTTPStatus
from typing import Any

from fastapi import APIRouter, HTTPException, Request, Response
from fastapi.exceptions import RequestValidationError
from fastapi.routing import APIRoute
from starlette.exceptions import HTTPException as StarletteHTTPException
from starlette.responses import HTMLResponse

from seedbank.common.catalogue import text_of
from seedbank.common.errors import Busy, Refused, StockFault
from seedbank.common.local_format import local_from
from seedbank.database.database_faults import DATABASE_FAULTS, DatabaseFault, ailment_of
from seedbank.database.queries import Cursor
from seedbank.science.quantities import Finding
from seedbank.settings import Units
from seedbank.web.pages.page_request import status_of
from seedbank.web.pages.render import render

log = logging.getLogger("seedbank.web.pages")
_Handler = Callable[[Request], Coroutine[Any, Any, Response]]


class PageRoute(APIRoute):
    """A route whose faults are answered as pages."""

    def get_route_handler(self) -> _Handler:
        """The route's own handler, with faults caught."""
        handle = super().get_route_handler()

        async def handling(request: Request) -> Response:
            try:
                return await handle(request)
            except Busy as fault:
                return _later(fault_page(request, 503, fault), fault.retry_after_s)
            except StockFault as fault:
                return fault_page(request, status_of(fault), fault)
            except RequestValidationError:
                return lost_page(request)
            except (HTTPException, StarletteHTTPException) as error:
                other = StockFault("http-other", detail=str(error.detail))
                return fault_page(request, error.status_code, other)
            except DATABASE_FAULTS as error:
                return _database_page(request, error)
            except Exception as error:
                return _broken_page(request, error)

        return handling


def page_router() -> APIRouter:
    """A router for pages: they stay out of the API's document."""
    return APIRouter(route_class=PageRoute, include_in_schema=False)


def _database_page(request: Request, error: DatabaseFault) -> Response:
    ailment = ailment_of(error)
    if ailment is None:
        return _broken_page(request, error)
    log.error("%s %s: %s", request.method, request.url.path, ailment.text, exc_info=error)
    return _later(fault_page(request, 503, StockFault(ailment.code)), ailment.retry_after_s)


def _later(page: Response, seconds: int) -> Response:
    page.headers["Retry-After"] = str(seconds)
    return page


def _broken_page(request: Request, error: Exception) -> Response:
    log.error("%s %s failed", request.method, request.url.path, exc_info=error)
    return fault_page(request, 500, StockFault("something-broke"))


def fault_page(request: Request, status: int, fault: StockFault) -> Response:
    """A page that says what went wrong."""
    heading = Finding("fault-heading", {"status": status, "phrase": HTTPStatus(status).phrase})
    local = local_from(request.cookies, request.headers.get("accept-language", ""), Units.METRIC)
    text = render(
        "web/pages/fault.html",
        heading=text_of(heading, local),
        said=fault.text_for(local),
        mend=fault.mend_for(local),
        path=request.url.path,
        local=local,
    )
    return HTMLResponse(text, status, {"Cache-Control": "no-store"})


def lost_page(request: Request) -> Response:
    """The page for an address that leads nowhere."""
    return fault_page(request, 404, StockFault("no-such-page"))


def written(cursor: Cursor | None) -> str:
    """The cursor for an address; empty if there is no next page."""
    return "" if cursor is None else f"{cursor.id}~{'' if cursor.key is None else cursor.key}"


def read(text: str, *, numbered: bool = False) -> Cursor | None:
    """The cursor an address holds; ``numbered`` if the list goes by a number.

    Raises Refused: no cursor of ours.
    """
    if not text:
        return None
    number, mark, key = text.partition("~")
    if not (mark and _whole_number(number) and (_whole_number(key) or not numbered)):
        raise Refused("list-ends-there", "after", text)
    return Cursor(int(key) if numbered else key, int(number))


def _whole_number(text: str) -> bool:
    return text.isascii() and text.isdigit() and len(text) < 10
