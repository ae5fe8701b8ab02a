"""Requests larger than this service takes are refused, before they are read if they say so."""

from starlette.datastructures import Headers
from starlette.middleware.body_limit import RequestBodyLimitMiddleware
from starlette.types import ASGIApp, Receive, Scope, Send

from seedbank.server.refusals import refusal


class DeclaredSize:
    """ASGI middleware: 413 for a Content-Length beyond ``most_bytes``.

    What doesn't say its size is cut off by Starlette's own limit while it is read.
    """

    def __init__(self, app: ASGIApp, most_bytes: int) -> None:
        self._app = app
        self._most = most_bytes

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass the request on, or refuse it."""
        if scope["type"] == "http":
            declared = Headers(scope=scope).get("content-length", "")
            if declared.isascii() and declared.isdigit() and int(declared[:20]) > self._most:
                response = refusal(
                    scope,
                    413,
                    f"A request may hold {self._most} bytes. Nothing was changed.",
                    field="Content-Length",
                    value=declared,
                    mend="Send it in parts, or let SEEDBANK_MAX_BODY_BYTES allow more.",
                )
                await response(scope, receive, send)
                return
        await self._app(scope, receive, send)


class ShortForm:
    """ASGI middleware: 413 for more than ``most_bytes`` at ``address``, that anybody may send to.

    It goes inside the limit for all the others: Starlette's innermost one holds.
    """

    def __init__(self, app: ASGIApp, address: str, most_bytes: int) -> None:
        self._app = app
        self._address = address
        self._short = RequestBodyLimitMiddleware(app, most_bytes)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass the request on, watched if it goes there."""
        app = self._short if scope.get("path") == self._address else self._app
        await app(scope, receive, send)
