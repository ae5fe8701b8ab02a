"""Pages by what a gardener comes for; each module has a ``router``."""

from seedbank.pages.routes import (
    enter,
    germination_tests,
    now,
    one_test,
    own_settings,
    plan,
    season,
    variety,
)

ROUTERS = (
    enter.router,
    germination_tests.router,
    now.router,
    one_test.router,
    own_settings.router,
    plan.router,
    season.router,
    variety.router,
)
