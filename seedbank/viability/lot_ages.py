"""How old each lot is believed to be, from whatever is on record of it."""

from dataclasses import dataclass

import numpy as np

from seedbank.science.quantities import BoolArray, FloatArray
from seedbank.science.viability.decline import DAYS_PER_YEAR
from seedbank.science.viability.lot_age import HarvestDays, about, in_years, long_before
from seedbank.science.viability.packet_evidence import harvest_years_of_packet
from seedbank.viability.tables.stock_columns import Collection

# All of these are our choice; the harvest season is common practice, no single source.
HARVEST_DAY_OF_YEAR = 258.0  # mid-September, when only the year is known
YEAR_SD = 0.15  # years either side of it
ESTIMATED_SD = 1.0
SHOP_YEARS = 1.0  # bought seed was harvested about a year before it was bought
SHOP_SD = 0.7
UNKNOWN_YEARS = 3.0  # of other seed, when it came or was first seen here
UNKNOWN_LOG_SD = 0.9


@dataclass(frozen=True, slots=True)
class LotAges:
    """The days each lot may have been harvested on, and ``harvest_day`` (L,), their middle.

    ``known`` (L,) is true where a harvest year or date is on record.
    """

    possible: HarvestDays
    harvest_day: FloatArray
    known: BoolArray


def lot_ages(collection: Collection, today: float) -> LotAges:
    """Take the best on record: harvest date, harvest year, what its packet says, the day it came.

    Of seed bought or gathered here the day it came says about when it was harvested; of other seed
    only that it is older than that, and if that isn't known either, the day it was entered does:
    how old it was by then is a wide guess. A day that is only guessed lies before any record of
    the seed; a stated year holds against one.
    """
    lots, years = collection, DAYS_PER_YEAR
    new_year = (lots.harvest_year - 2000.0) * years
    by_date = ~np.isnan(lots.harvest_day)
    by_year = ~by_date & ~np.isnan(lots.harvest_year)
    of_packet = _years_of_packets(lots)
    by_packet = np.array([bool(one) for one in of_packet], dtype=np.bool_) & ~by_date & ~by_year
    fresh = (lots.bought | lots.saved_here) & ~np.isnan(lots.acquired_day)
    came = np.minimum(np.fmin(lots.acquired_day, lots.created_day), today)
    by_purchase = ~by_date & ~by_year & ~by_packet & fresh
    nothing = ~by_date & ~by_year & ~by_packet & ~fresh
    guessed = lots.harvest_estimated
    last = np.minimum(_first_seen(lots), today)
    found = HarvestDays.sure(np.minimum(np.where(by_date, lots.harvest_day, last), today))

    def normal(which: BoolArray, middle: FloatArray, sd: float, nodes: int = 5) -> None:
        at = np.flatnonzero(which)
        ever = np.full(at.size, -np.inf)
        found.put(at, *about(middle[at], sd * years, (ever, last[at]), nodes))

    normal(by_date & guessed, lots.harvest_day, ESTIMATED_SD)
    normal(by_year & guessed, new_year + HARVEST_DAY_OF_YEAR, ESTIMATED_SD)
    normal(by_purchase, lots.acquired_day - SHOP_YEARS * years, SHOP_SD)
    at = np.flatnonzero(by_year & ~guessed)
    end = np.minimum(np.maximum(np.minimum(last, new_year + years), new_year), today)[at]
    middle, begin = new_year[at] + HARVEST_DAY_OF_YEAR, np.minimum(new_year[at], end)
    found.put(at, *about(middle, YEAR_SD * years, (begin, end), 3))
    at = np.flatnonzero(by_packet)
    found.put(at, *in_years([of_packet[one] for one in at], HARVEST_DAY_OF_YEAR, last[at]))
    at = np.flatnonzero(nothing)
    long_ago = (UNKNOWN_YEARS * years, UNKNOWN_LOG_SD)
    found.put(at, *long_before(came[at], *long_ago, np.minimum(last, came)[at]))
    return LotAges(found.trimmed, found.middle, by_date | by_year)


def _years_of_packets(collection: Collection) -> list[dict[int, float]]:
    """Chance of each harvest year of each lot by what its packet says; empty if nothing."""
    packets = collection.packets
    said = zip(packets.packed_for, packets.packed, strict=True)
    told = dict(zip(packets.lot.tolist(), said, strict=True))
    found: list[dict[int, float]] = [{} for _ in range(collection.size)]
    for at in sorted({*told, *np.flatnonzero(~np.isnan(collection.sow_by_year)).tolist()}):
        season, packed = told.get(at, (None, None))
        sow_by = collection.sow_by_year[at]
        promised = None if np.isnan(sow_by) else int(sow_by)
        found[at] = harvest_years_of_packet(season, packed, promised)
    return found


def _first_seen(collection: Collection) -> FloatArray:
    """The first day a lot is on record as seed: got, entered, put somewhere, tested or packed."""
    first = np.fmin(collection.acquired_day, collection.created_day)
    np.fmin.at(first, collection.packets.lot, collection.packets.tested_day)
    for record in (collection.stays, collection.tests):
        np.minimum.at(first, record.lot, record.day)
    return first
