"""The pages added to an application that has the wiring.

Pages by what a gardener comes for; each module has a ``router``.
"""

from inspect import isawaitable

from fastapi import FastAPI, Request
from starlette.exceptions import HTTPException
from starlette.responses import Response
from starlette.staticfiles import StaticFiles
from starlette.types import Scope

from seedbank.access.pages import enter, trail
from seedbank.germination.pages import one_test
from seedbank.germination.pages import tests as germination_tests
from seedbank.interchange.spreadsheet.pages import spreadsheet
from seedbank.kinds.pages import new_kind, variety
from seedbank.labels.pages import labels
from seedbank.lots.pages import (
    changes,
    entered,
    find,
    lot,
    lot_change,
    lot_places,
    lot_stock,
    take_in,
)
from seedbank.plan.pages import plan
from seedbank.saving.pages import crop, flowering
from seedbank.season.pages import dates, lists, season
from seedbank.sowing.pages import forecast_record as record
from seedbank.sowing.pages import sow_advice
from seedbank.sowing.pages import sowings as one_sowing
from seedbank.web.pages import more, own_settings
from seedbank.web.pages.page_route import lost_page
from seedbank.web.pages.render import STATIC

ROUTERS = (
    changes.router,
    crop.router,
    dates.router,
    enter.router,
    entered.router,
    find.router,
    flowering.router,
    germination_tests.router,
    labels.router,
    lists.router,
    lot.router,
    lot_change.router,
    lot_places.router,
    lot_stock.router,
    more.router,
    new_kind.router,
    one_sowing.router,
    one_test.router,
    own_settings.router,
    plan.router,
    record.router,
    season.router,
    sow_advice.router,
    spreadsheet.router,
    take_in.router,
    trail.router,
    variety.router,
)


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
        app.router.routes.extend(router.routes)
    app.mount("/static", _Lasting(directory=STATIC))
    tell = app.exception_handlers[HTTPException]

    async def telling(request: Request, error: HTTPException) -> Response:
        reads_pages = "text/html" in request.headers.get("accept", "")
        if error.status_code == 404 and reads_pages:
            return lost_page(request)
        told = tell(request, error)
        return await told if isawaitable(told) else told

    app.add_exception_handler(HTTPException, telling)  # type: ignore[arg-type]  # of its own kind
