"""How old each lot is, and how sure that is."""

from dataclasses import dataclass

import numpy as np

from seedbank.science.quantities import BoolArray, FloatArray
from seedbank.science.viability.decline import DAYS_PER_YEAR
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
    """``harvest_day`` (L,) as believed, and the spread of log age that doubt about it adds.

    ``known`` is true where a harvest year or date is on record.
    """

    harvest_day: FloatArray
    log_sd: FloatArray
    known: BoolArray


def lot_ages(collection: Collection, today: float) -> LotAges:
    """Take the best on record: harvest date, harvest year, the day it was bought or gathered here.

    Of other seed the day it came only says that it is older than that, and if that isn't known
    either, the day it was entered does: how old it was by then is a wide guess.
    A day that is only guessed gives way to any record of the seed from before it.
    """
    new_year = (collection.harvest_year - 2000.0) * DAYS_PER_YEAR
    by_date = ~np.isnan(collection.harvest_day)
    by_year = ~by_date & ~np.isnan(collection.harvest_year)
    fresh = (collection.bought | collection.saved_here) & ~np.isnan(collection.acquired_day)
    by_purchase = ~by_date & ~by_year & fresh
    came = np.fmin(collection.acquired_day, collection.created_day)
    bought_day = collection.acquired_day - SHOP_YEARS * DAYS_PER_YEAR
    guess = np.select(
        [by_date, by_year, by_purchase],
        [collection.harvest_day, new_year + HARVEST_DAY_OF_YEAR, bought_day],
        came - UNKNOWN_YEARS * DAYS_PER_YEAR,
    )
    harvest = np.minimum(guess, _first_seen(collection))
    sure = ~collection.harvest_estimated
    harvest = np.where(by_year & sure, np.maximum(harvest, new_year), harvest)
    harvest = np.minimum(np.where(by_date & sure, collection.harvest_day, harvest), today)
    age_years = np.maximum((today - harvest) / DAYS_PER_YEAR, 0.5)
    at_first = UNKNOWN_LOG_SD * UNKNOWN_YEARS  # years in doubt; those since then are sure
    sd_years = np.select([by_date, by_year, by_purchase], [0.0, YEAR_SD, SHOP_SD], at_first)
    sd_years = np.where(collection.harvest_estimated & (by_date | by_year), ESTIMATED_SD, sd_years)
    log_sd = sd_years / age_years
    return LotAges(harvest, np.minimum(log_sd, UNKNOWN_LOG_SD), by_date | by_year)


def _first_seen(collection: Collection) -> FloatArray:
    """The first day a lot is on record as seed: got, entered, put somewhere or tested."""
    first = np.fmin(collection.acquired_day, collection.created_day)
    for record in (collection.stays, collection.tests):
        np.minimum.at(first, record.lot, record.day)
    return first
