"""The last changes of stock over the whole collection, and undoing one."""

from typing import Annotated

from fastapi import Query, Response

from seedbank.common.errors import Refused
from seedbank.database.queries import Paging
from seedbank.lots.answers import LotAnswer
from seedbank.lots.pages.lot import Code
from seedbank.lots.show_lots import show_lot
from seedbank.lots.words import moved
from seedbank.overview.forms import Undoing
from seedbank.overview.list_changes import list_changes, undo_change
from seedbank.web.pages import page_route as pager
from seedbank.web.pages.page_request import PageRequest, PageRequestDep, SentDep
from seedbank.web.pages.page_route import page_router

router = page_router()
AT_ONCE = 25
After = Annotated[str, Query(max_length=40)]


@router.get("/changes")
def changes(request: PageRequestDep, after: After = "") -> Response:
    """The last changes first."""
    return _page(request, after)


@router.get("/lot/{code}/changes")
def changes_of(request: PageRequestDep, code: Code, after: After = "") -> Response:
    """The last changes of one lot first."""
    lot = show_lot(request.session, code, today=request.today)
    return _page(request, after, lot)


@router.post("/undo")
def undo(sent: SentDep) -> Response:
    """Undo one change, and show the lot as it is then."""
    request, lot = sent.request, sent.get("lot")
    code = show_lot(request.session, lot, today=request.today).code

    def action(form: Undoing) -> str:
        serial = undo_change(request.session, code, form, today=request.today, now=request.now)
        return f"/lot/{code}" if serial is None else f"/lot/{code}?movement={serial}"

    filled = sent.form(Undoing)
    if filled.form is None:
        raise Refused("change-not-in-list", "serial", sent.get("serial"))
    return sent.act(
        filled,
        action,
        lambda faulted, status: request.show(
            "lots/pages/undo_refused.html", status, filled=faulted, code=code
        ),
    )


def _page(request: PageRequest, after: str, lot: LotAnswer | None = None) -> Response:
    begun = pager.read(after, numbered=True)
    code = None if lot is None else lot.code
    page = list_changes(request.session, Paging(AT_ONCE, begun), lot=code)
    return request.show(
        "lots/pages/changes.html",
        lot=lot,
        changes=page.items,
        more=pager.written(page.next),
        begun=begun is not None,
        moved=moved(),
    )
