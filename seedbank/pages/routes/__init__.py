"""Pages by what a gardener comes for; each module has a ``router``."""

from seedbank.pages.routes import enter, own_settings

ROUTERS = (own_settings.router, enter.router)
