"""Letting a browser in: its token is kept in a cookie that no script reads."""

from typing import Annotated

from fastapi import Query, Response
from starlette.responses import RedirectResponse

from seedbank.access.tokens_and_trail import holder_of
from seedbank.common.catalogue import text_of
from seedbank.science.quantities import Finding
from seedbank.web.pages.form_reading import Filled
from seedbank.web.pages.page_request import TOKEN_COOKIE, PageRequest, PageRequestDep, SentDep
from seedbank.web.pages.page_route import page_router

ENTER = "/enter"
WRONG_TOKEN = 422  # the status that tells the guard a token was wrong
_QUARTER_S = 90 * 86_400

router = page_router()


@router.get(ENTER)
def ask(request: PageRequestDep, next: Annotated[str, Query(max_length=500)] = "/") -> Response:
    """Ask for the token."""
    return _page(request, Filled(), next, 200)


@router.post(ENTER)
def enter(sent: SentDep) -> Response:
    """Keep a good token in this browser for a quarter of a year, and go on."""
    request, shown = sent.request, sent.get("token")
    if holder_of(request.session, shown) is None:
        wrong = text_of(Finding("token-typed-wrong"), request.local)
        return _page(request, Filled(errors={"token": wrong}), sent.get("next"), WRONG_TOKEN)
    response = RedirectResponse(_inside(sent.get("next")), 303)
    response.set_cookie(
        TOKEN_COOKIE,
        shown,
        max_age=_QUARTER_S,
        httponly=True,
        samesite="lax",
        secure=request.http.url.scheme == "https",
    )
    return response


@router.post("/leave")
def leave() -> Response:
    """Forget the token in this browser."""
    response = RedirectResponse(ENTER, 303)
    response.delete_cookie(TOKEN_COOKIE, httponly=True, samesite="lax")
    return response


def _page(request: PageRequest, filled: Filled[object], onward: str, status: int) -> Response:  # type: ignore[type-var]  # no model: nothing but a token is asked
    return request.show("access/pages/enter.html", status, filled=filled, onward=_inside(onward))


def _inside(address: str) -> str:
    """The address, if it is one of ours; the front page otherwise."""
    ours = address.startswith("/") and not address.startswith(("//", "/\\"))
    return address if ours and address.isprintable() else "/"
