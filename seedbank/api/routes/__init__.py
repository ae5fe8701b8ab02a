"""The routers, one a resource; a new one is added to this list."""

from collections.abc import Iterator

from fastapi.routing import APIRoute

from seedbank.api.routes import (
    access,
    advice,
    archive,
    descriptors,
    flowerings,
    garden_limits,
    germination_tests,
    isolation_gear,
    kinds,
    lots,
    movements,
    passports,
    places,
    plan_pins,
    problems,
    saving_plans,
    seed_crops,
    seed_lines,
    sites,
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
    archive.router,
    passports.router,
    descriptors.router,
    sowing_advice.router,
    sites.router,
    isolation_gear.router,
    garden_limits.router,
    flowerings.router,
    flowerings.windows_router,
    seed_crops.router,
    seed_lines.router,
    plan_pins.router,
    saving_plans.router,
    access.router,
    problems.router,
)


def each_route() -> Iterator[APIRoute]:
    """Every address and method the API takes, router by router."""
    for router in ROUTERS:
        yield from (route for route in router.routes if isinstance(route, APIRoute))


__all__ = ["ROUTERS", "each_route"]
