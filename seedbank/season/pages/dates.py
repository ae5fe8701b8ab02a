"""Days to come, as a page and as an iCalendar feed (RFC 5545) for a phone's own calendar."""

from datetime import timedelta
from typing import TYPE_CHECKING

from fastapi import Response

from seedbank.common.catalogue import text_of
from seedbank.common.safe_text import plain_text
from seedbank.science.quantities import Finding
from seedbank.season.answers import ComingDate, ComingDatesAnswer
from seedbank.season.coming_dates import list_coming_dates
from seedbank.web.pages.page_request import TOKEN_COOKIE, PageRequestDep
from seedbank.web.pages.page_route import page_router

if TYPE_CHECKING:
    from icalendar import Event

MEDIA_TYPE = "text/calendar; charset=utf-8"
_REFRESH = timedelta(hours=12)
_PRODUCT = "-//Seedbank//Days to come//EN"


def draw_calendar(answer: ComingDatesAnswer, base_url: str) -> bytes:
    """The feed. Whole days without a time, so that no time zone comes into it.

    The same dates give the same bytes: an event is stamped with the moment its record was made.
    """

    from icalendar import Calendar

    calendar = Calendar()
    calendar.add("prodid", _PRODUCT)
    calendar.add("version", "2.0")
    calendar.add("name", text_of(Finding("calendar-name")))
    calendar.add("x-wr-calname", text_of(Finding("calendar-name")))
    # RFC 7986, 5.7: how often to look again.
    calendar.add("refresh-interval", _REFRESH, parameters={"VALUE": "DURATION"})
    for one in answer.items:
        calendar.add_component(_event(one, base_url.rstrip("/")))
    return bytes(calendar.to_ical())


def _event(one: ComingDate, base_url: str) -> "Event":
    from icalendar import Event

    address = base_url + address_of(one)
    event = Event()
    event.add("uid", f"{one.name}@seedbank")
    event.add("dtstamp", one.changed_at)
    event.add("last-modified", one.changed_at)
    event.add("sequence", one.revision)
    event.add("dtstart", one.on)
    event.add("summary", plain_text(one.title.text))
    event.add("description", f"{plain_text(one.reason.text)}\n{address}")
    event.add("url", address)
    event.add("categories", [text_of(Finding("coming-category", {"coming": one.coming}))])
    event.add("transp", "TRANSPARENT")  # it doesn't make its reader busy
    return event


def address_of(one: ComingDate) -> str:
    """The page about it."""
    if one.test is not None:
        return f"/test/{one.test}"
    if one.kind is not None:
        return f"/kind/{one.kind}/season"
    if one.seed_crop is not None:
        return f"/season#seed-crop-{one.seed_crop}"
    return "/season" if one.lot is None else f"/lot/{one.lot}"


router = page_router()


@router.get("/dates")
def dates(request: PageRequestDep) -> Response:
    """What is to be done on which day."""
    answer = list_coming_dates(request.session, today=request.today)
    feed = f"{request.base_url}/dates.ics"
    subscribe = "webcal:" + feed.partition(":")[2]
    return request.show(
        "season/pages/dates.html",
        answer=answer,
        address_of=address_of,
        feed=feed,
        subscribe=subscribe,
        asks_token=TOKEN_COOKIE in request.http.cookies,
    )


@router.get("/dates.ics")
def feed(request: PageRequestDep) -> Response:
    """The feed."""
    answer = list_coming_dates(request.session, today=request.today)
    headers = {"Cache-Control": "private, no-cache"}
    return Response(draw_calendar(answer, request.base_url), 200, headers, MEDIA_TYPE)
