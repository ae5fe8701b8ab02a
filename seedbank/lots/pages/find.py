"""Finding a lot by variety, kind, code or a word."""

from urllib.parse import urlencode

from fastapi import Response
from starlette.responses import RedirectResponse

from seedbank.common.errors import StockFault
from seedbank.database.queries import Page, Paging
from seedbank.lots.edit_places import place_choices
from seedbank.overview.answers import FoundLot
from seedbank.overview.find_lots import look_for_lots, near_lots, whole_code
from seedbank.overview.forms import LotQuestion
from seedbank.science.verdicts.verdict import Verdict
from seedbank.verdicts.words import verdict_words
from seedbank.web.pages import page_route as pager
from seedbank.web.pages.form_reading import Filled
from seedbank.web.pages.page_request import PageRequest, PageRequestDep
from seedbank.web.pages.page_route import page_router

router = page_router()
AT_ONCE = 30


@router.get("/find")
def find(request: PageRequestDep) -> Response:
    """Lots that answer to what was typed; a whole code goes straight to its lot."""
    filled = request.asked(LotQuestion)
    words = filled.value("words").strip()
    if words and not request.read_again:
        code = whole_code(request.session, words)
        if code is not None:
            return RedirectResponse(f"/lot/{code}", 303)
    filled, page = _looked_for(request, filled)
    nearly = page is not None and page.near
    near = (
        near_lots(request.session, words) if words and page and (nearly or not page.items) else []
    )
    return request.show(
        "lots/pages/find.html",
        422 if filled.errors else 200,
        filled=filled,
        words=words,
        found=page.items if page else [],
        near=near,
        nearly=nearly,
        narrowed=bool(filled.value("place") or filled.value("verdict")),
        more=_more(filled, page),
        begun=bool(request.http.query_params.get("after")),
        verdicts={verdict.value: verdict_words(verdict) for verdict in Verdict},
        places=place_choices(request.session),
        verdict_words=verdict_words,
    )


def _looked_for(
    request: PageRequest, filled: Filled[LotQuestion]
) -> tuple[Filled[LotQuestion], Page[FoundLot] | None]:
    after = pager.read(request.http.query_params.get("after", ""))
    if filled.form is None:
        return filled, None
    try:
        page = look_for_lots(
            request.session, filled.form, Paging(AT_ONCE, after), today=request.today
        )
    except StockFault as fault:
        return filled.faulted(fault, request.local), None
    return filled, page


def _more(filled: Filled[LotQuestion], page: Page[FoundLot] | None) -> str:
    """Address of the next page; empty on the last."""
    if page is None or page.next is None:
        return ""
    asked = {name: filled.value(name) for name in ("words", "place", "verdict")}
    held = {name: text for name, text in asked.items() if text}
    return "/find?" + urlencode({**held, "after": pager.written(page.next)})
