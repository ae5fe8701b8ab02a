"""Days on which a lot's seed was there, and days on which that is doubtful."""

from datetime import date

from seedbank.common.dates import happened, in_order
from seedbank.common.doubts import Doubt
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
        mend = f"Lot {lot.code} wasn't harvested yet; mend this day, or the lot's harvest."
        in_order(harvested_from(lot), day, field=field, mend=mend)


def check_came_after_harvest(lot: Lot) -> None:
    """Raises Refused: it came here before its harvest, or before a year that is no guess."""
    known = lot.harvest_date or (None if lot.harvest_estimated else harvested_from(lot))
    mend = "Seed can't have come here before it was harvested; mend one of the two days."
    in_order(known, lot.acquired_on, field="acquired_on", mend=mend)


def harvested_from(lot: Lot) -> date | None:
    """The first day the lot can have been harvested; None: nobody knows."""
    if lot.harvest_date is None and lot.harvest_year is not None:
        return date(lot.harvest_year, 1, 1)
    return lot.harvest_date


def before_it_came(lot: Lot, day: date, *, field: str) -> Doubt | None:
    """Seed used before it came here, or before a harvest whose time is only estimated."""
    harvested = harvested_from(lot)
    if lot.acquired_on is not None and day < lot.acquired_on:
        why = f"Lot {lot.code} came here on {lot.acquired_on.isoformat()}, later than that."
    elif lot.harvest_estimated and harvested is not None and day < harvested:
        why = f"Lot {lot.code} is thought to be of {harvested.year}, later than that."
    else:
        return None
    mend = f"Mend {field}, or the day the lot was harvested or came here."
    return Doubt(field, day.isoformat(), why, mend)
