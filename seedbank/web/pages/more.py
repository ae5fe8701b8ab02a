"""Everything else there is, and what this service is."""

from fastapi import Response

from seedbank import __version__
from seedbank.web.pages.page_request import PageRequestDep
from seedbank.web.pages.page_route import page_router

router = page_router()


@router.get("/more")
def more(request: PageRequestDep) -> Response:
    """Where to find what has no place in the row at the top."""
    return request.show("web/pages/more.html")


@router.get("/about")
def about(request: PageRequestDep) -> Response:
    """What it is, how far to trust it, and what to read."""
    return request.show("web/pages/about.html", version=__version__)
