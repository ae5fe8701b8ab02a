"""Everything else there is, and what this service is."""

from fastapi import Response

from seedbank import __version__
from seedbank.pages.desk import DeskDep
from seedbank.pages.page_route import page_router

router = page_router()


@router.get("/more")
def more(desk: DeskDep) -> Response:
    """Where to find what has no place in the row at the top."""
    return desk.show("more.html")


@router.get("/about")
def about(desk: DeskDep) -> Response:
    """What it is, how far to trust it, and what to read."""
    return desk.show("about.html", version=__version__)
