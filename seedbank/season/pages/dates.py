"""Days to come: as a page, and as a feed for a phone's own calendar."""

from fastapi import Response

from seedbank.season.coming_dates import list_coming_dates
from seedbank.season.pages.calendar import MEDIA_TYPE, address_of, draw_calendar
from seedbank.web.pages.page_request import TOKEN_COOKIE, DeskDep
from seedbank.web.pages.page_route import page_router

router = page_router()


@router.get("/dates")
def dates(desk: DeskDep) -> Response:
    """What is to be done on which day."""
    answer = list_coming_dates(desk.session, today=desk.today)
    feed = f"{desk.base_url}/dates.ics"
    subscribe = "webcal:" + feed.partition(":")[2]
    return desk.show(
        "season/pages/dates.html",
        answer=answer,
        address_of=address_of,
        feed=feed,
        subscribe=subscribe,
        asks_token=TOKEN_COOKIE in desk.request.cookies,
    )


@router.get("/dates.ics")
def feed(desk: DeskDep) -> Response:
    """The feed."""
    answer = list_coming_dates(desk.session, today=desk.today)
    headers = {"Cache-Control": "private, no-cache"}
    return Response(draw_calendar(answer, desk.base_url), 200, headers, MEDIA_TYPE)
