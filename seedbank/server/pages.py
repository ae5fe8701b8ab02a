"""The pages added to an application that has the wiring."""

from inspect import isawaitable

from fastapi import FastAPI, Request
from starlette.exceptions import HTTPException
from starlette.responses import Response
from starlette.staticfiles import StaticFiles
from starlette.types import Scope

from seedbank.server.page_routers import ROUTERS
from seedbank.web.pages.page_route import lost_page
from seedbank.web.pages.render import STATIC

_YEAR_S = 31_536_000


class _Lasting(StaticFiles):
    """Static files, whose addresses change with their bytes, so that a phone keeps them."""

    async def get_response(self, path: str, scope: Scope) -> Response:
        response = await super().get_response(path, scope)
        if b"v=" in scope["query_string"] and response.status_code == 200:
            response.headers["Cache-Control"] = f"public, max-age={_YEAR_S}, immutable"
        return response


def add_pages(app: FastAPI) -> None:
    """Serve the pages from ``app``; a browser at an address that leads nowhere gets a page too."""
    for router in ROUTERS:
        app.include_router(router)
    app.mount("/static", _Lasting(directory=STATIC))
    tell = app.exception_handlers[HTTPException]

    async def telling(request: Request, error: HTTPException) -> Response:
        reads_pages = "text/html" in request.headers.get("accept", "")
        if error.status_code == 404 and reads_pages:
            return lost_page(request)
        told = tell(request, error)
        return await told if isawaitable(told) else told

    app.add_exception_handler(HTTPException, telling)  # type: ignore[arg-type]  # of its own kind
