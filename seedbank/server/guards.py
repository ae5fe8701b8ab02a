"""What is refused before it reaches the program, and what the browser is told of every answer.

A request under a name that isn't ours: a hostile page can make its own name point to 127.0.0.1
(DNS rebinding) and would then count as our site, but the Host header still carries its name. A
change asked for by another site's page: a browser says where a request comes from, by
Sec-Fetch-Site (W3C Fetch Metadata) or at least Origin on everything but GET and HEAD (Fetch
standard, section 3.2); what carries neither was not sent by a page. A request larger than this
service takes, before it is read if it says so. Whoever is turned away is told by a page, or by a
problem (RFC 9457) for programs.
"""

import re
from collections.abc import Mapping
from http import HTTPStatus
from typing import Any
from urllib.parse import urlsplit

from starlette.datastructures import Headers, MutableHeaders
from starlette.middleware.body_limit import RequestBodyLimitMiddleware
from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from seedbank.common.errors import StockFault
from seedbank.settings import Settings
from seedbank.web.pages.page_route import fault_page

_SHOWN = 200  # characters of a refused value


def refusal(scope: Scope, status: int, fault: StockFault) -> Response:
    """What is wrong with the request, and what to do."""
    request = Request(scope)
    if "text/html" in request.headers.get("accept", ""):
        return fault_page(request, status, fault)
    problem = refusal_problem(status, fault, scope["path"])
    return JSONResponse(problem, status, media_type="application/problem+json")


def refusal_problem(status: int, fault: StockFault, path: str) -> dict[str, Any]:
    """The problem (RFC 9457) that a refusal tells to programs."""
    value = None if fault.value is None else str(fault.value)[:_SHOWN]
    return {
        "type": "about:blank",
        "title": HTTPStatus(status).phrase,
        "status": status,
        "detail": str(fault),
        "instance": path,
        "errors": [{"field": fault.field, "value": value, "mend": fault.mend}],
        "code": fault.code,
    }


# Everything a page needs comes from here; nothing runs or styles from inside the page's own text.
_PAGE_POLICY = "; ".join(
    (
        "default-src 'none'",
        "script-src 'self'",
        "style-src 'self'",
        "img-src 'self'",
        "connect-src 'self'",
        "manifest-src 'self'",
        "form-action 'self'",
        "base-uri 'none'",
        "frame-ancestors 'none'",
    )
)
# A picture opened by itself brings its own styles, and nothing else.
_PICTURE_POLICY = "default-src 'none'; style-src 'unsafe-inline'"
# The API's reading page brings its own scripts from outside; it takes no input of the gardener's.
_UNPOLICED = ("/docs", "/redoc")
_ALWAYS = {
    "X-Content-Type-Options": "nosniff",
    "X-Frame-Options": "DENY",
    "Referrer-Policy": "same-origin",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Permissions-Policy": "camera=(), microphone=(), geolocation=()",
}


class SecurityHeaders:
    """ASGI middleware that adds the headers to every answer."""

    def __init__(self, app: ASGIApp) -> None:
        self._app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass the request on, and put the headers on what comes back."""
        if scope["type"] != "http":
            await self._app(scope, receive, send)
            return

        async def sending(message: Message) -> None:
            if message["type"] == "http.response.start":
                headers = MutableHeaders(scope=message)
                for name, value in _ALWAYS.items():
                    headers.setdefault(name, value)
                picture = headers.get("content-type", "").startswith("image/svg")
                if not scope["path"].startswith(_UNPOLICED):
                    policy = _PICTURE_POLICY if picture else _PAGE_POLICY
                    headers.setdefault("Content-Security-Policy", policy)
            await send(message)

        await self._app(scope, receive, sending)


class HeadAsGet:
    """ASGI middleware: HEAD is answered as GET is, without the body (RFC 9110, section 9.3.2)."""

    def __init__(self, app: ASGIApp) -> None:
        self._app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass the request on, and keep the body of what comes back."""
        if scope["type"] != "http" or scope["method"] != "HEAD":
            await self._app(scope, receive, send)
            return

        async def sending(message: Message) -> None:
            if message["type"] == "http.response.body":
                message = {**message, "body": b""}
            await send(message)

        await self._app({**scope, "method": "GET"}, receive, sending)


LOOPBACK = frozenset({"127.0.0.1", "localhost", "::1"})
_EVERYWHERE = frozenset({"0.0.0.0", "::", ""})


class OwnHostsOnly:
    """ASGI middleware: 421 for a Host header that names somebody else."""

    def __init__(self, app: ASGIApp, settings: Settings) -> None:
        self._app = app
        given = {settings.host, *settings.allowed_hosts}
        if settings.base_url:
            given.add(urlsplit(settings.base_url).hostname or "")
        self._ours = LOOPBACK | {name.lower().strip("[]") for name in given - _EVERYWHERE}

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass the request on, or refuse it."""
        if scope["type"] == "http":
            host = Headers(scope=scope).get("host", "")
            if _name(host) not in self._ours:
                response = refusal(scope, 421, StockFault("host-not-ours", "Host", host))
                await response(scope, receive, send)
                return
        await self._app(scope, receive, send)


def _name(host: str) -> str:
    try:
        return (urlsplit(f"//{host}").hostname or "").lower()
    except ValueError:  # brackets that don't close
        return ""


_READS = frozenset({"GET", "HEAD", "OPTIONS", "TRACE"})


class SameSiteOnly:
    """ASGI middleware: 403 for a change that another site's page asks for."""

    def __init__(self, app: ASGIApp) -> None:
        self._app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass the request on, or refuse it."""
        headers = Headers(scope=scope) if scope["type"] == "http" else None
        if headers is None or scope["method"] in _READS or _own(headers):
            await self._app(scope, receive, send)
            return
        fault = StockFault("asked-by-other-site", "Origin", headers.get("origin"))
        response = refusal(scope, 403, fault)
        await response(scope, receive, send)


def _own(headers: Headers) -> bool:
    """Was this sent by a page of ours, or by no page at all?"""
    fetched_from = headers.get("sec-fetch-site")
    if fetched_from is not None:
        return fetched_from in ("same-origin", "none")
    origin = headers.get("origin")
    return origin is None or urlsplit(origin).netloc == headers.get("host")


Sizes = Mapping[re.Pattern[str], int]
"""Most bytes at addresses that take more or less than the others."""


class DeclaredSize:
    """ASGI middleware: 413 for a Content-Length beyond ``most_bytes``, or that of its address.

    What doesn't say its size is cut off by Starlette's own limit while it is read.
    """

    def __init__(self, app: ASGIApp, most_bytes: int, sizes: Sizes) -> None:
        self._app = app
        self._most = most_bytes
        self._sizes = sizes

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass the request on, or refuse it."""
        if scope["type"] == "http":
            most = next(
                (size for place, size in self._sizes.items() if place.fullmatch(scope["path"])),
                self._most,
            )
            declared = Headers(scope=scope).get("content-length", "")
            if declared.isascii() and declared.isdigit() and int(declared[:20]) > most:
                fault = StockFault("request-too-large", "Content-Length", declared, most=most)
                response = refusal(scope, 413, fault)
                await response(scope, receive, send)
                return
        await self._app(scope, receive, send)


class OwnSize:
    """ASGI middleware: the limit of those addresses that have one of their own.

    It goes inside the limit for all the others: Starlette's innermost one holds.
    """

    def __init__(self, app: ASGIApp, sizes: Sizes) -> None:
        self._app = app
        self._limited = [
            (place, RequestBodyLimitMiddleware(app, size)) for place, size in sizes.items()
        ]

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass the request on, watched if it goes there."""
        path = scope.get("path", "")
        app = next((app for place, app in self._limited if place.fullmatch(path)), self._app)
        await app(scope, receive, send)
