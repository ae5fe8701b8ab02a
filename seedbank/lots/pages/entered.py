"""Lots whose amount or day of coming an import may have made up: asked about once."""

from fastapi import Response

from seedbank.common.catalogue import choice_words
from seedbank.database.queries import Paging
from seedbank.lots.forms import AmountIs, DayIs, EntryDoubtsAnswered
from seedbank.lots.pages.changes import After
from seedbank.lots.settle_entry_doubts import list_entry_doubts, settle_entry_doubts
from seedbank.web.pages import page_route as pager
from seedbank.web.pages.form_reading import Filled
from seedbank.web.pages.page_request import PageRequest, PageRequestDep, SentDep
from seedbank.web.pages.page_route import page_router

router = page_router()
_AT_ONCE = 40


@router.get("/entered")
def asked(request: PageRequestDep, after: After = "") -> Response:
    """The lots still to be asked about."""
    return _page(request, Filled(), 200, after)


@router.post("/entered")
def answer(sent: SentDep) -> Response:
    """Take the answer for one lot, or for all of them."""
    request = sent.request

    def action(form: EntryDoubtsAnswered) -> str:
        settle_entry_doubts(request.session, form, today=request.today, now=request.now)
        return "/entered"

    filled = sent.form(EntryDoubtsAnswered)
    return sent.act(filled, action, lambda again, status: _page(request, again, status))


def _page(
    request: PageRequest, filled: Filled[EntryDoubtsAnswered], status: int, after: str = ""
) -> Response:
    begun = pager.read(after, numbered=True)
    page = list_entry_doubts(request.session, Paging(_AT_ONCE, begun))
    return request.show(
        "lots/pages/entered.html",
        status,
        filled=filled,
        lots=page.items,
        more=pager.written(page.next),
        amounts=choice_words("entry-amount-is", AmountIs).items(),
        days=choice_words("entry-day-is", DayIs).items(),
    )
