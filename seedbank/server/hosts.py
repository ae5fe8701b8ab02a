"""Requests under a name that isn't ours are refused.

A hostile page can make its own name point to 127.0.0.1 (DNS rebinding) and would then count as
our site; the Host header still carries its name.
"""

from urllib.parse import urlsplit

from starlette.datastructures import Headers
from starlette.types import ASGIApp, Receive, Scope, Send

from seedbank.server.refusals import refusal
from seedbank.settings import Settings

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
                response = refusal(
                    scope,
                    421,
                    "This service doesn't go by that name.",
                    field="Host",
                    value=host,
                    mend="Use the address it was started with, or add the name to "
                    "SEEDBANK_ALLOWED_HOSTS.",
                )
                await response(scope, receive, send)
                return
        await self._app(scope, receive, send)


def _name(host: str) -> str:
    try:
        return (urlsplit(f"//{host}").hostname or "").lower()
    except ValueError:  # brackets that don't close
        return ""
