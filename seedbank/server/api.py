"""Wiring in one place: settings in, a ready application out."""

from collections.abc import AsyncIterator, Sequence
from contextlib import AbstractContextManager, asynccontextmanager, nullcontext
from datetime import timedelta
from typing import Any

from fastapi import FastAPI
from starlette.routing import BaseRoute

import seedbank.tables  # noqa: F401 - a row is taken out only if no table refers to it
from seedbank import __version__
from seedbank.common.clock import clock
from seedbank.database.engine import session_factory
from seedbank.database.run_once import forget_answers
from seedbank.server.later import LaterRoutes, MakeRoutes, add_all
from seedbank.settings import Settings
from seedbank.upkeep.open_collection import open_collection
from seedbank.web.api.problems import install_problems
from seedbank.web.wiring import Wiring

_ABOUT = """Seed lots, germination tests and sowings of a kitchen gardener.

Dates are ISO 8601. Amounts carry their unit in the field's name; seed is counted as it is sown,
so a beet cluster is one seed. Percentages come with the interval that holds them, and answers
list their sources. Every POST needs an Idempotency-Key and may be sent again safely. Changing
and deleting need If-Match. Errors are problems after RFC 9457 and say how to mend them.
"""


_KEYS_LAST = timedelta(days=30)  # after that a repeated key counts as new


class _Service(FastAPI):
    """Builds its API, and the document of it, when somebody asks for them."""

    def openapi(self) -> dict[str, Any]:
        """The OpenAPI document."""
        if self.openapi_schema is None:
            from seedbank.server.document import document_of

            add_all(self)
            self.openapi_schema = document_of(self)
        return self.openapi_schema


def create_app(settings: Settings, before: Sequence[MakeRoutes] = ()) -> FastAPI:
    """The application on the database of ``settings``, which is made or brought up to date.

    The routes of its API are added when they are asked for, and those that go ``before`` them.

    Raises BadDatabase: the URL can't be used. NewerDatabase: written by a newer program.
    """
    engine = open_collection(settings.database_url, now=clock())

    wiring = Wiring(settings, session_factory(engine, writes=False), session_factory(engine))

    @asynccontextmanager
    async def lifespan(_app: FastAPI) -> AsyncIterator[None]:
        with wiring.writing() as session:
            forget_answers(session, before=clock() - _KEYS_LAST)
        with _backing_up(settings):
            yield
        engine.dispose()

    app = _Service(
        title="Seedbank",
        version=__version__,
        description=_ABOUT,
        lifespan=lifespan,
    )
    app.state.wiring = wiring
    install_problems(app)
    routes = app.router.routes
    routes.append(LaterRoutes(routes, [*before, _api_routes]))
    return app


def _api_routes() -> Sequence[BaseRoute]:
    from seedbank.server.api_routers import ROUTERS

    return [route for router in ROUTERS for route in router.routes]


def _backing_up(settings: Settings) -> AbstractContextManager[None]:
    if settings.backup_folder is None:
        return nullcontext()
    from seedbank.upkeep.back_up import Schedule, backups_running

    schedule = Schedule(
        settings.backup_folder,
        timedelta(hours=settings.backup_every_hours),
        settings.backups_kept,
    )
    return backups_running(settings.database_url, schedule, now=clock)
