"""Days a gardener may name: recorded things have happened."""

from datetime import date

from seedbank.common.errors import Refused
from seedbank.science.quantities import Value


def happened(day: date | None, *, field: str, today: date) -> date:
    """``day``, or today where it was left out. Raises Refused: it is still to come."""
    if day is None:
        return today
    not_to_come(day, field=field, today=today)
    return day


def not_to_come(day: date | None, *, field: str, today: date) -> None:
    """Raises Refused: the day is after today."""
    if day is not None and day > today:
        raise Refused("still-to-come", field, day.isoformat(), today=today)


def in_order(
    first: date | None, then: date | None, code: str, *, field: str, **values: Value
) -> None:
    """Raises Refused, by this code: ``then``, of ``field``, is before ``first``."""
    if first is not None and then is not None and then < first:
        raise Refused(code, field, then.isoformat(), first=first, **values)
