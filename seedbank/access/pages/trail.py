"""Who changed what, and who may come in: for the owner's eyes."""

from typing import Annotated

from fastapi import Query, Response

from seedbank.access import tokens_and_trail as access
from seedbank.database.queries import Paging
from seedbank.web.pages import page_route as pager
from seedbank.web.pages.page_request import PageRequestDep, SentDep
from seedbank.web.pages.page_route import page_router

router = page_router()
AT_ONCE = 30


@router.get("/trail")
def trail(request: PageRequestDep, after: Annotated[str, Query(max_length=40)] = "") -> Response:
    """Commits, the latest first, and the tokens."""
    page = access.show_trail(request.session, Paging(AT_ONCE, pager.read(after, numbered=True)))
    return request.show(
        "access/pages/trail.html",
        entries=page.items,
        more=pager.written(page.next),
        tokens=[] if after else access.list_tokens(request.session).items,
    )


@router.post("/trail/token/{number}/revoke")
def revoke(sent: SentDep, number: int) -> Response:
    """Let the holder of a token in no longer."""

    def action() -> str:
        access.revoke_token(sent.request.session, number, now=sent.request.now)
        return "/trail"

    return sent.once(action)
