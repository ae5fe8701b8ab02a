"""The routers, one a resource; a new one is added to this list."""

from seedbank.api.routes import (
    advice,
    germination_tests,
    kinds,
    lots,
    movements,
    places,
    problems,
    sowing_advice,
    sowings,
    varieties,
)

ROUTERS = (
    kinds.router,
    varieties.router,
    places.router,
    lots.router,
    movements.router,
    germination_tests.router,
    sowings.router,
    advice.router,
    sowing_advice.router,
    problems.router,
)

__all__ = ["ROUTERS"]
