"""The API and the pages put together, with what guards them both."""

import re

from fastapi import FastAPI
from starlette.middleware.body_limit import RequestBodyLimitMiddleware
from starlette.middleware.gzip import GZipMiddleware

from seedbank.access.pages.enter import ENTER
from seedbank.access.tables import Holder
from seedbank.access.tokens_and_trail import holder_of
from seedbank.server.api import create_app
from seedbank.server.guards import (
    LOOPBACK,
    DeclaredSize,
    HeadAsGet,
    OwnHostsOnly,
    OwnSize,
    SameSiteOnly,
    SecurityHeaders,
)
from seedbank.server.pages import later_pages, tell_lost
from seedbank.settings import Settings
from seedbank.web.wiring import Wiring

_TOKEN_FORM_BYTES = 10_000  # anybody may send it
_PHOTO_BYTES = 21_000_000  # 15 MB in Base64, and a form beside it
_WITH_PHOTO = re.compile(r"/take-in|/lots?/[^/]+/photo")


def create_server(settings: Settings) -> FastAPI:
    """The whole service on the database of ``settings``.

    Raises BadDatabase: the URL can't be used. NewerDatabase: written by a newer program.
    """
    app = create_app(settings, later_pages())
    tell_lost(app)
    wiring: Wiring = app.state.wiring

    def who_holds(shown: str) -> Holder | None:
        with wiring.reading() as session:
            return holder_of(session, shown)

    # The last one added is asked first.
    sizes = {
        re.compile(re.escape(ENTER)): _TOKEN_FORM_BYTES,
        _WITH_PHOTO: max(_PHOTO_BYTES, settings.max_body_bytes),
    }
    app.add_middleware(HeadAsGet)
    app.add_middleware(OwnSize, sizes=sizes)
    app.add_middleware(RequestBodyLimitMiddleware, max_body_size=settings.max_body_bytes)
    app.add_middleware(DeclaredSize, most_bytes=settings.max_body_bytes, sizes=sizes)
    app.add_middleware(GZipMiddleware, minimum_size=1000, compresslevel=5)
    if asks_for_tokens(settings):
        from seedbank.server.token_guard import TokensAsked

        most = settings.requests_a_minute
        app.add_middleware(TokensAsked, who_holds=who_holds, requests_a_minute=most)
    app.add_middleware(SameSiteOnly)
    app.add_middleware(OwnHostsOnly, settings=settings)
    app.add_middleware(SecurityHeaders)
    return app


def asks_for_tokens(settings: Settings) -> bool:
    """Is this served to more than the machine it runs on?"""
    return settings.require_tokens or settings.host.strip("[]").lower() not in LOOPBACK
