"""Routes that an application is given once somebody asks for an address it doesn't know yet."""

from collections.abc import Callable, Sequence
from threading import Lock

from fastapi import FastAPI
from starlette.routing import BaseRoute, Match
from starlette.types import Scope

MakeRoutes = Callable[[], Sequence[BaseRoute]]


class LaterRoutes(BaseRoute):
    """Stands last among routes and adds more of them, a few at a time.

    A request is tried against one route after another. One that gets this far has the next routes
    put behind this one, and is tried against them in turn. So nothing is imported or built for a
    page but what it needs, and what is before it.
    """

    def __init__(self, routes: list[BaseRoute], more: Sequence[MakeRoutes]) -> None:
        self._routes = routes
        self._more = more
        self._lock = Lock()

    def add(self) -> None:
        """Add the next routes, and behind them another of these for the rest."""
        with self._lock:
            if self._more:
                make, *rest = self._more
                self._routes += [*make(), LaterRoutes(self._routes, rest)]
                self._more = ()

    def matches(self, scope: Scope) -> tuple[Match, Scope]:  # noqa: ARG002 - asked of every route
        """Match nothing; what is added is asked next."""
        self.add()
        return Match.NONE, {}


def add_all(app: FastAPI) -> None:
    """Give an application all routes it would ever be given."""
    for route in app.router.routes:  # it grows meanwhile
        if isinstance(route, LaterRoutes):
            route.add()
