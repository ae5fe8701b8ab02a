"""Changes asked for by another site's page are refused.

A browser says where a request comes from: Sec-Fetch-Site (W3C Fetch Metadata), or at least Origin
on everything but GET and HEAD (Fetch standard, section 3.2). What carries neither was not sent by
a page, and so can't have been forged by one.
"""

from urllib.parse import urlsplit

from starlette.datastructures import Headers
from starlette.types import ASGIApp, Receive, Scope, Send

from seedbank.server.refusals import refusal

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
        response = refusal(
            scope,
            403,
            "A page of another site asked for this change. Nothing was changed.",
            field="Origin",
            value=headers.get("origin"),
            mend="Open this address in a tab of its own and send the form from there.",
        )
        await response(scope, receive, send)


def _own(headers: Headers) -> bool:
    """Was this sent by a page of ours, or by no page at all?"""
    fetched_from = headers.get("sec-fetch-site")
    if fetched_from is not None:
        return fetched_from in ("same-origin", "none")
    origin = headers.get("origin")
    return origin is None or urlsplit(origin).netloc == headers.get("host")
