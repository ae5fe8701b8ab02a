"""A reader's own units and way of writing dates, kept in their browser."""

from fastapi import Response
from starlette.responses import RedirectResponse

from seedbank.common.errors import Refused
from seedbank.common.local_format import DATES, DATES_COOKIE, UNITS_COOKIE
from seedbank.settings import Units
from seedbank.web.pages.page_request import PageRequestDep, SentDep
from seedbank.web.pages.page_route import page_router

router = page_router()
_YEAR_S = 31_536_000


@router.get("/settings")
def choose(request: PageRequestDep) -> Response:
    """Units and dates to choose from."""
    return request.show("web/pages/settings.html", dates=DATES, units=list(Units))


@router.post("/settings")
def keep(sent: SentDep) -> Response:
    """Keep the choice for a year."""
    units, dates = sent.get("units"), sent.get("dates")
    if units not in list(Units):
        raise Refused("not-one-of", "units", units, choices=", ".join(Units))
    if dates not in DATES:
        raise Refused("not-one-of", "dates", dates, choices=", ".join(DATES))
    response = RedirectResponse("/settings", 303)
    for name, value in ((UNITS_COOKIE, units), (DATES_COOKIE, dates)):
        response.set_cookie(name, value, max_age=_YEAR_S, httponly=True, samesite="lax")
    return response
