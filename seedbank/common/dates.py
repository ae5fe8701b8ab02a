"""Days a gardener may name: recorded things have happened; some are known to the month or year."""

from calendar import monthrange
from datetime import date

from seedbank.common.errors import Refused
from seedbank.science.quantities import Value


def rough_span(rough: str | None) -> tuple[date, date] | None:
    """First and last day of ``2024``, ``2024-03`` or ``2024-03-12``; None of None.

    Raises ValueError: there is no such day.
    """
    if rough is None:
        return None
    year, month, day = (*map(int, rough.split("-")), 0, 0)[:3]
    last_month = month or 12
    last_day = day or monthrange(year, last_month)[1]
    return date(year, month or 1, day or 1), date(year, last_month, last_day)


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
