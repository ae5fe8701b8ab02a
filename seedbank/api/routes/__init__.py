"""The routers, one a resource; a new one is added to this list."""

from seedbank.api.routes import places, problems, varieties

ROUTERS = (varieties.router, places.router, problems.router)

__all__ = ["ROUTERS"]
