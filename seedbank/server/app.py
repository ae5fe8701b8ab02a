"""The API and the pages put together, with what guards them both."""

from fastapi import FastAPI
from starlette.middleware.gzip import GZipMiddleware

from seedbank.api.app import create_app
from seedbank.pages.site import add_pages
from seedbank.server.headers import SecurityHeaders
from seedbank.server.same_site import SameSiteOnly
from seedbank.settings import Settings


def create_server(settings: Settings) -> FastAPI:
    """The whole service on the database of ``settings``.

    Raises BadDatabase: the URL can't be used. NewerDatabase: written by a newer program.
    """
    app = create_app(settings)
    add_pages(app)
    # The last one added is asked first.
    app.add_middleware(GZipMiddleware, minimum_size=1000, compresslevel=5)
    app.add_middleware(SameSiteOnly)
    app.add_middleware(SecurityHeaders)
    return app
