"""Days on which a lot's seed was there, and days on which that is doubtful."""

from datetime import date

from seedbank.common.dates import happened, in_order
from seedbank.common.errors import Doubt
from seedbank.lots.tables.lots import Lot


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
        in_order(harvested_from(lot), day, "before-harvest", field=field, lot=lot.code)


def check_came_after_harvest(lot: Lot) -> None:
    """Raises Refused: it came here before its harvest, or before a year that is no guess."""
    known = lot.harvest_date or (None if lot.harvest_estimated else harvested_from(lot))
    in_order(known, lot.acquired_on, "came-before-harvest", field="acquired_on")


def harvested_from(lot: Lot) -> date | None:
    """The first day the lot can have been harvested; None: nobody knows."""
    if lot.harvest_date is None and lot.harvest_year is not None:
        return date(lot.harvest_year, 1, 1)
    return lot.harvest_date


def before_it_came(lot: Lot, day: date, *, field: str) -> Doubt | None:
    """Seed used before it came here, or before a harvest whose time is only estimated."""
    harvested = harvested_from(lot)
    if lot.acquired_on is not None and day < lot.acquired_on:
        return Doubt("before-it-came", field, day.isoformat(), lot=lot.code, came=lot.acquired_on)
    if lot.harvest_estimated and harvested is not None and day < harvested:
        return Doubt("before-its-year", field, day.isoformat(), lot=lot.code, year=harvested.year)
    return None
