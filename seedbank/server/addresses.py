"""Every address the API takes."""

from collections.abc import Iterator

from fastapi.routing import APIRoute

from seedbank.server.api_routers import ROUTERS


def each_route() -> Iterator[APIRoute]:
    """Every address and method the API takes, router by router."""
    for router in ROUTERS:
        yield from (route for route in router.routes if isinstance(route, APIRoute))
