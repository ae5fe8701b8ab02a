"""Where tokens are asked for: who may come in, what they may do, and how often.

A token is shown as ``Authorization: Bearer …`` (RFC 6750), by a page's cookie, or, for the
calendar feed alone, whose readers can send no header, as ``?token=`` in its address.

It is always looked at, and a right one always lets in: only wrong ones are counted, by the network
they came from, and beyond ten a minute answered with 429. What has to be remembered for that has a
fixed size, however many networks send them.
"""

import logging
from collections.abc import Callable
from ipaddress import ip_address, ip_network
from urllib.parse import parse_qs, quote
from zlib import crc32

from fastapi.concurrency import run_in_threadpool
from limits import RateLimitItemPerMinute
from limits.storage import MemoryStorage
from limits.strategies import SlidingWindowCounterRateLimiter
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from seedbank.access.pages.enter import ENTER, WRONG_TOKEN
from seedbank.access.tables import Holder, Rights
from seedbank.common.errors import StockFault
from seedbank.database.database_faults import DATABASE_FAULTS, DatabaseFault, ailment_of
from seedbank.server.guards import refusal
from seedbank.web.pages.page_request import TOKEN_COOKIE

log = logging.getLogger("seedbank.server")
WhoHolds = Callable[[str], Holder | None]

_READS = frozenset({"GET", "HEAD"})
OPEN = frozenset({ENTER, "/leave", "/health"})
"""Addresses that anybody may ask for."""
_FILES = "/static/"
_OWNERS = ("/access-tokens", "/audit-trail", "/export", "/trail")
_FEED = "/dates.ics"
_WRONG_A_MINUTE = RateLimitItemPerMinute(10)
_COUNTERS = 4096  # networks that share one share its limit, which costs none of them a right token


class TokensAsked:
    """ASGI middleware: 401 without a good token, 403 beyond its rights, 429 too often."""

    def __init__(self, app: ASGIApp, who_holds: WhoHolds, requests_a_minute: int) -> None:
        self._app = app
        self._who_holds = who_holds
        self._limiter = SlidingWindowCounterRateLimiter(MemoryStorage())
        self._most = RateLimitItemPerMinute(requests_a_minute)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass the request on under its holder's name, or refuse it."""
        app: ASGIApp = self._app
        if scope["type"] == "http":
            if scope["path"] == ENTER and scope["method"] not in _READS:
                app = self._enter
            elif scope["path"] not in OPEN and not scope["path"].startswith(_FILES):
                app = await self._refused(Request(scope)) or app
        await app(scope, receive, send)

    async def _enter(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass a token typed in on to its page; a wrong one too many is answered here instead."""
        refused: Response | None = None

        async def sending(message: Message) -> None:
            nonlocal refused
            if message["type"] == "http.response.start" and message["status"] == WRONG_TOKEN:
                refused = self._guessing(Request(scope))
            if refused is None:
                await send(message)

        await self._app(scope, receive, sending)
        if refused is not None:
            await refused(scope, receive, send)

    async def _refused(self, request: Request) -> Response | None:
        shown = _shown(request)
        if not shown:
            return _no_token(request)
        try:
            holder = await run_in_threadpool(self._who_holds, shown)
        except DATABASE_FAULTS as fault:
            return _not_now(request, fault)
        if holder is None:
            return self._guessing(request) or _wrong_token(request)
        if not self._limiter.hit(self._most, "holder", str(holder.token_id)):
            return _too_often(request, "too-many-requests")
        if not _may(holder.rights, request):
            return _not_yours(request, holder)
        request.state.holder = holder.name
        return None

    def _guessing(self, request: Request) -> Response | None:
        """Count a wrong token; the refusal, if there were too many."""
        counter = str(crc32(_network(request).encode()) % _COUNTERS)
        if self._limiter.hit(_WRONG_A_MINUTE, "wrong", counter):
            return None
        return _too_often(request, "too-many-wrong-tokens")


def _network(request: Request) -> str:
    """Where a request comes from: an IPv4 address, or the 64 bits of IPv6 given to one site."""
    host = request.client.host if request.client else ""
    try:
        address = ip_address(host.partition("%")[0])
    except ValueError:  # a socket of this machine
        return host
    if address.version == 6:
        mapped = address.ipv4_mapped
        return str(mapped or ip_network((address, 64), strict=False))
    return str(address)


def _shown(request: Request) -> str:
    kind, _, text = request.headers.get("authorization", "").partition(" ")
    if kind.lower() == "bearer":
        return text.strip()
    if request.url.path == _FEED:
        asked = parse_qs(request.url.query).get("token")
        if asked:
            return asked[0]
    return request.cookies.get(TOKEN_COOKIE, "")


def rights_needed(path: str, method: str) -> Rights:
    """The least rights that let a token's holder do this."""
    if path.startswith(_OWNERS):
        return Rights.OWNER
    return Rights.READER if method in _READS else Rights.KEEPER


def _may(rights: Rights, request: Request) -> bool:
    rank = list(Rights).index
    return rank(rights) >= rank(rights_needed(request.url.path, request.method))


def _no_token(request: Request) -> Response:
    if _wants_page(request):
        back = request.url.path + (f"?{request.url.query}" if request.url.query else "")
        return RedirectResponse(f"{ENTER}?next={quote(back, safe='')}", 303)
    return _unknown(request, "token-missing")


def _wrong_token(request: Request) -> Response:
    if _wants_page(request):  # the cookie of a token since revoked; forgotten, it counts once
        response = RedirectResponse(ENTER, 303)
        response.delete_cookie(TOKEN_COOKIE, httponly=True, samesite="lax")
        return response
    return _unknown(request, "token-wrong")


def _wants_page(request: Request) -> bool:
    return "text/html" in request.headers.get("accept", "") and request.method in _READS


def _unknown(request: Request, code: str) -> Response:
    # A secret is never told back.
    response = refusal(request.scope, 401, StockFault(code, "Authorization"))
    response.headers["WWW-Authenticate"] = 'Bearer realm="seedbank"'
    return response


def _not_yours(request: Request, holder: Holder) -> Response:
    fault = StockFault("rights-too-few", "Authorization", rights=holder.rights.value)
    return refusal(request.scope, 403, fault)


def _not_now(request: Request, fault: DatabaseFault) -> Response:
    ailment = ailment_of(fault)
    if ailment is None:
        raise fault
    log.error("%s: %s", request.url.path, ailment.text, exc_info=fault)
    response = refusal(request.scope, 503, StockFault(ailment.code))
    response.headers["Retry-After"] = str(ailment.retry_after_s)
    return response


def _too_often(request: Request, code: str) -> Response:
    response = refusal(request.scope, 429, StockFault(code))
    response.headers["Retry-After"] = "60"
    return response
