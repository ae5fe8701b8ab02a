"""The routers, one a resource; a new one is added to this list."""

from seedbank.access import routes as access
from seedbank.germination.routes import germination_tests
from seedbank.interchange.descriptors import routes as descriptors
from seedbank.interchange.folder import routes as archive
from seedbank.interchange.passport import routes as passports
from seedbank.interchange.spreadsheet import routes as imports
from seedbank.interchange.workbook import routes as workbook
from seedbank.kinds.routes import kinds, varieties
from seedbank.lots.routes import entry_doubts, lots, movements, photos, places
from seedbank.overview import routes as overview
from seedbank.plan.routes import plan_pins, saving_plans
from seedbank.saving.routes import (
    climate,
    flowerings,
    garden_limits,
    isolation_gear,
    seed_crops,
    seed_lines,
    sites,
)
from seedbank.season import routes as season
from seedbank.sowing.routes import sowing_advice, sowings
from seedbank.upkeep import routes as service
from seedbank.verdicts import routes as advice
from seedbank.web.api import problem_routes as problems

ROUTERS = (
    kinds.router,
    varieties.router,
    places.router,
    lots.router,
    movements.router,
    photos.router,
    entry_doubts.router,
    overview.router,
    germination_tests.router,
    sowings.router,
    advice.router,
    season.router,
    archive.router,
    workbook.router,
    passports.router,
    descriptors.router,
    imports.router,
    sowing_advice.router,
    sites.router,
    climate.router,
    climate.kinds_router,
    climate.varieties_router,
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
    service.router,
)


__all__ = ["ROUTERS"]
