"""Days on which a lot's seed was there, and days on which that is doubtful."""

from datetime import date

from seedbank.common.dates import happened, in_order, rough_span
from seedbank.common.errors import Doubt, Refused
from seedbank.lots.tables.lots import Lot

_SEASONS_AHEAD = 2
"""So many years ahead at most is a packet packed for: our choice."""


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


def check_packet(lot: Lot, today: date) -> None:
    """Raises Refused: what the packet says of its days can't be true of this lot."""
    harvest = None if lot.harvest_estimated else harvested_from(lot)
    for field, written in (("packed_on", lot.packed_on), ("printed_test_on", lot.printed_test_on)):
        span = rough_span(written)
        if span is None:
            continue
        first, last = span
        if first > today:
            raise Refused("printed-to-come", field, written, today=today)
        if harvest is not None and last < harvest:
            raise Refused("printed-before-harvest", field, written, lot=lot.code)
        if lot.acquired_on is not None and first > lot.acquired_on:
            raise Refused("printed-after-it-came", field, written, came=lot.acquired_on)
    packed = rough_span(lot.packed_on)
    least = max((day.year for day in (harvest, packed and packed[0]) if day), default=None)
    if lot.packed_for is not None:
        if least is not None and lot.packed_for < least:
            raise Refused("packed-for-season-before", "packed_for", lot.packed_for, year=least)
        most = today.year + _SEASONS_AHEAD
        if lot.packed_for > most:
            raise Refused("packed-for-season-far-off", "packed_for", lot.packed_for, year=most)
    for first_day in (harvest, packed and packed[0]):
        in_order(first_day, lot.sow_by, "sow-by-too-early", field="sow_by")


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
