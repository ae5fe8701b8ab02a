"""The pages added to an application that has the wiring."""

from collections.abc import Sequence
from functools import partial
from importlib import import_module
from inspect import isawaitable

from fastapi import FastAPI, Request
from starlette.exceptions import HTTPException
from starlette.responses import Response
from starlette.routing import BaseRoute, Mount
from starlette.staticfiles import StaticFiles
from starlette.types import Scope

from seedbank.server.later import MakeRoutes
from seedbank.web.pages.page_route import lost_page
from seedbank.web.pages.render import STATIC

# Modules with a ``router``. Each is imported when a page is asked for that those before it haven't.
_MODULES = (
    "season.pages.now",
    "season.pages.lists",
    "season.pages.season",
    "overview.pages.shelf",
    "overview.pages.places",
    "lots.pages.find",
    "lots.pages.lot",
    "kinds.pages.variety",
    "kinds.pages.new_kind",
    "kinds.pages.rarity",
    "verdicts.pages.towels",
    "season.pages.dates",
    "season.pages.climate",
    "plan.pages.plan",
    "lots.pages.lot_stock",
    "lots.pages.lot_change",
    "lots.pages.lot_places",
    "lots.pages.photo",
    "lots.pages.take_in",
    "lots.pages.mix",
    "lots.pages.changes",
    "lots.pages.entered",
    "labels.pages.labels",
    "germination.pages.tests",
    "germination.pages.one_test",
    "saving.pages.crop",
    "saving.pages.flowering",
    "sowing.pages.sow_advice",
    "sowing.pages.sow_mixture",
    "sowing.pages.sowings",
    "sowing.pages.forecast_record",
    "interchange.spreadsheet.pages.spreadsheet",
    "access.pages.enter",
    "access.pages.trail",
    "web.pages.more",
    "web.pages.own_settings",
)
_YEAR_S = 31_536_000


class _Lasting(StaticFiles):
    """Static files, whose addresses change with their bytes, so that a phone keeps them."""

    async def get_response(self, path: str, scope: Scope) -> Response:
        response = await super().get_response(path, scope)
        if b"v=" in scope["query_string"] and response.status_code == 200:
            response.headers["Cache-Control"] = f"public, max-age={_YEAR_S}, immutable"
        return response


def later_pages() -> list[MakeRoutes]:
    """The routes of pages: of the files they all need, then module by module."""
    return [_files, *(partial(_routes_of, module) for module in _MODULES)]


def _files() -> Sequence[BaseRoute]:
    return [Mount("/static", _Lasting(directory=STATIC))]


def _routes_of(module: str) -> Sequence[BaseRoute]:
    routes: Sequence[BaseRoute] = import_module(f"seedbank.{module}").router.routes
    return routes


def tell_lost(app: FastAPI) -> None:
    """Have a browser told by a page that an address leads nowhere."""
    tell = app.exception_handlers[HTTPException]

    async def telling(request: Request, error: HTTPException) -> Response:
        reads_pages = "text/html" in request.headers.get("accept", "")
        if error.status_code == 404 and reads_pages:
            return lost_page(request)
        response = tell(request, error)
        return await response if isawaitable(response) else response

    app.add_exception_handler(HTTPException, telling)  # type: ignore[arg-type]  # of its own kind
