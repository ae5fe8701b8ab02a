"""When lots of the tests came here, so that they can have been tested and sown before today."""

from datetime import date
from typing import Any


def came_on(today: date, **lot: Any) -> str:
    """The lot's harvest, at the end of its year if only that is known, else early last year."""
    harvest = lot.get("harvest_date") or f"{lot.get('harvest_year') or today.year - 2}-12-31"
    return min(str(harvest), today.isoformat())
