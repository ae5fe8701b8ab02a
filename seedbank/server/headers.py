"""What every answer tells the browser it may and may not do with it."""

from starlette.datastructures import MutableHeaders
from starlette.types import ASGIApp, Message, Receive, Scope, Send

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
