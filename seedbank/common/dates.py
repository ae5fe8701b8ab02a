"""Days a gardener may name: recorded things have happened."""

from datetime import date

from seedbank.common.errors import Refused
from seedbank.lots.tables.lots import Lot


def happened(day: date | None, *, field: str, today: date) -> date:
    """``day``, or today where it was left out. Raises Refused: it is still to come."""
    if day is None:
        return today
    not_to_come(day, field=field, today=today)
    return day


def not_to_come(day: date | None, *, field: str, today: date) -> None:
    """Raises Refused: the day is after today."""
    if day is not None and day > today:
        raise Refused(
            field,
            day.isoformat(),
            f"Give today ({today.isoformat()}) or an earlier day.",
            f"{field} is still to come.",
        )


def in_order(first: date | None, then: date | None, *, field: str, mend: str) -> None:
    """Raises Refused: ``then``, of ``field``, is before ``first``."""
    if first is not None and then is not None and then < first:
        raise Refused(field, then.isoformat(), mend, f"{field} comes before {first.isoformat()}.")


def since_harvest(lot: Lot, day: date | None, *, field: str, today: date) -> date:
    """``day``, or today where it was left out: a day on which the lot's seed was there.

    Raises Refused: still to come, or before the harvest, unless that is only estimated.
    """
    day = happened(day, field=field, today=today)
    after_harvest(lot, day, field=field)
    return day


def after_harvest(lot: Lot, day: date, *, field: str) -> None:
    """Raises Refused: the day is before the lot's harvest, and that is more than a guess."""
    if not lot.harvest_estimated:
        mend = f"Lot {lot.code} wasn't harvested yet; mend this day, or the lot's harvest."
        in_order(harvested_from(lot), day, field=field, mend=mend)


def harvested_from(lot: Lot) -> date | None:
    """The first day the lot can have been harvested; None: nobody knows."""
    if lot.harvest_date is None and lot.harvest_year is not None:
        return date(lot.harvest_year, 1, 1)
    return lot.harvest_date


def days_words(days: int) -> str:
    """A number of days with its noun."""
    return "1 day" if days == 1 else f"{days} days"
