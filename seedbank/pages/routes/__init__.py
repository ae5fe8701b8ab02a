"""Pages by what a gardener comes for; each module has a ``router``."""

from seedbank.pages.routes import (
    enter,
    now,
    one_test,
    own_settings,
    plan,
    season,
)

ROUTERS = (
    enter.router,
    now.router,
    one_test.router,
    own_settings.router,
    plan.router,
    season.router,
)
