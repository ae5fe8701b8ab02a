"""Where tokens are asked for: who may come in, what they may do, and how often.

A token is shown as ``Authorization: Bearer …`` (RFC 6750), by a page's cookie, or, for the
calendar feed alone, whose readers can send no header, as ``?token=`` in its address.
"""

from collections.abc import Callable
from urllib.parse import parse_qs, quote

from fastapi.concurrency import run_in_threadpool
from limits import RateLimitItemPerMinute
from limits.storage import MemoryStorage
from limits.strategies import SlidingWindowCounterRateLimiter
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.types import ASGIApp, Receive, Scope, Send

from seedbank.pages.routes.enter import ENTER, TOKEN_COOKIE
from seedbank.server.refusals import refusal
from seedbank.stock.access_tokens import Holder, Rights

WhoHolds = Callable[[str], Holder | None]

_READS = frozenset({"GET", "HEAD"})
_OPEN = (ENTER, "/leave", "/static/")
_OWNERS = ("/access-tokens", "/audit-trail", "/export", "/trail")
_FEED = "/dates.ics"
_WRONG_A_MINUTE = RateLimitItemPerMinute(10)


class TokensAsked:
    """ASGI middleware: 401 without a good token, 403 beyond its rights, 429 too often."""

    def __init__(self, app: ASGIApp, who_holds: WhoHolds, requests_a_minute: int) -> None:
        self._app = app
        self._who_holds = who_holds
        self._limiter = SlidingWindowCounterRateLimiter(MemoryStorage())
        self._most = RateLimitItemPerMinute(requests_a_minute)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass the request on under its holder's name, or refuse it."""
        if scope["type"] == "http":
            refused = await self._refused(scope)
            if refused is not None:
                await refused(scope, receive, send)
                return
        await self._app(scope, receive, send)

    async def _refused(self, scope: Scope) -> Response | None:
        request = Request(scope)
        address = request.client.host if request.client else "unknown"
        if not self._limiter.test(_WRONG_A_MINUTE, "wrong", address):
            return _too_often(scope, "Too many wrong tokens came from this address.")
        path = scope["path"]
        if path.startswith(_OPEN):
            wrong = path == ENTER and request.method not in _READS
            if wrong:  # a right one is let off: the page's own cookie answers from then on
                self._limiter.hit(_WRONG_A_MINUTE, "wrong", address)
            return None
        shown = _shown(request)
        holder = await run_in_threadpool(self._who_holds, shown) if shown else None
        if holder is None:
            if shown:
                self._limiter.hit(_WRONG_A_MINUTE, "wrong", address)
            return _no_token(request, shown)
        if not self._limiter.hit(self._most, "holder", str(holder.token_id)):
            return _too_often(scope, "Too many requests in a minute with this token.")
        if not _may(holder.rights, request):
            return _not_yours(scope, holder)
        request.state.holder = holder.name
        return None


def _shown(request: Request) -> str:
    kind, _, text = request.headers.get("authorization", "").partition(" ")
    if kind.lower() == "bearer":
        return text.strip()
    if request.url.path == _FEED:
        asked = parse_qs(request.url.query).get("token")
        if asked:
            return asked[0]
    return request.cookies.get(TOKEN_COOKIE, "")


def _may(rights: Rights, request: Request) -> bool:
    if request.url.path.startswith(_OWNERS):
        return rights is Rights.OWNER
    return rights is not Rights.READER or request.method in _READS


def _no_token(request: Request, shown: str) -> Response:
    wants_page = "text/html" in request.headers.get("accept", "")
    if wants_page and request.method in _READS and not shown:
        back = request.url.path + (f"?{request.url.query}" if request.url.query else "")
        return RedirectResponse(f"{ENTER}?next={quote(back, safe='')}", 303)
    if wants_page and request.method in _READS:  # a cookie of a token since revoked
        return RedirectResponse(ENTER, 303)
    response = refusal(
        request.scope,
        401,
        "This service asks for a token." if not shown else "This token is not, or no longer, good.",
        field="Authorization",
        value=None,  # never tell a secret back
        mend="Send the header Authorization: Bearer followed by the token; its owner makes one "
        "with `seedbank token add`.",
    )
    response.headers["WWW-Authenticate"] = 'Bearer realm="seedbank"'
    return response


def _not_yours(scope: Scope, holder: Holder) -> Response:
    return refusal(
        scope,
        403,
        f"A {holder.rights}'s token doesn't allow this. Nothing was changed.",
        field="Authorization",
        value=None,
        mend="Ask the owner of this service to do it, or for a token with more rights.",
    )


def _too_often(scope: Scope, detail: str) -> Response:
    response = refusal(
        scope, 429, detail, field="", value=None, mend="Wait a minute, then go on more slowly."
    )
    response.headers["Retry-After"] = "60"
    return response
