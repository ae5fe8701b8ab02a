"""What turns on how alive each lot is: may it be sown at the usual rate, can the variety wait.

Each question has a level, and a slope: what a probit beyond the level costs whoever took the lot
for the other side, in usual rows of its crop. Both are here and nowhere else, to be replaced as a
piece where the losses of a sowing or a line are worked out otherwise.
"""

from dataclasses import dataclass

import numpy as np
from scipy.special import ndtr, ndtri

from seedbank.kinds.tables import Breeding
from seedbank.science.quantities import FloatArray, IntArray
from seedbank.science.testing.test_batch import Questions
from seedbank.verdicts.lot_prospects import keepers_reckoned
from seedbank.verdicts.usual_row import row_levels, usual_row
from seedbank.viability.forecast_viability import Forecast

ROWS_A_PROBIT = 0.22
"""Of a row missed for each probit below it at the usual rate, or wasted above it: by decisions on
forty carrots and sixty leeks, 1.8 and 2.7 plants saved by ten seeds of seed as doubtful as that of
2.5 years (computed)."""
LINE_ROWS = np.array([0.33, 0.17, 0.05])
"""Rows that a probit costs a saved line that nobody else, few or many others keep, taken for better
or worse than it can wait: a tenth of its worth, 3.3 rows where nobody does. Our choice."""
REGENERATE_AT = 0.85
"""Share of its first viability under which a line is grown again: FAO Genebank Standards 2014,
4.3.4, from memory."""


@dataclass(frozen=True, slots=True)
class AskedOfLots:
    """The questions, (P,), and for each lot (L,) the level of the one that most turns on."""

    questions: Questions
    level: FloatArray
    usual_level: FloatArray


def ask_of_lots(forecast: Forecast, mean: FloatArray, sown: IntArray) -> AskedOfLots:
    """What turns on lots of these mean probits (L,); ``sown`` are those of which anything does."""
    usual, line = usual_rate_level(forecast), line_level(forecast)
    of_row, of_line = row_slope(forecast, sown), line_slope(forecast, sown)
    slope = np.concatenate([of_row, of_line])
    lot = np.tile(np.arange(mean.size), 2)
    margin = np.concatenate([mean - usual, mean - line])
    asked = np.flatnonzero(slope > 0.0)
    level = np.where(of_line > of_row, line, usual)
    return AskedOfLots(Questions(lot[asked], margin[asked], slope[asked]), level, usual)


def usual_rate_level(forecast: Forecast) -> FloatArray:
    """Probit (L,) at or over which a lot is sown at the usual rate."""
    level = {k: row_levels(usual_row(facts))[0] for k, facts in forecast.facts.items()}
    alive = [level[kind] for kind in forecast.collection.kind_id.tolist()]
    return np.asarray(ndtri(np.clip(alive, 0.001, 0.999)))


def row_slope(forecast: Forecast, sown: IntArray) -> FloatArray:
    """Rows a probit (L,): a usual row of each variety, shared by its lots that may be sown."""
    variety = forecast.collection.variety_id
    slope = np.zeros(variety.size)
    _, which, number = np.unique(variety[sown], return_inverse=True, return_counts=True)
    slope[sown] = ROWS_A_PROBIT / number[which]
    return slope


def line_level(forecast: Forecast) -> FloatArray:
    """Probit (L,) under which a line is grown again."""
    return np.asarray(ndtri(REGENERATE_AT * ndtr(forecast.alone.ki_mean)))


def line_slope(forecast: Forecast, sown: IntArray) -> FloatArray:
    """Rows a probit (L,) of lots saved here that come true; the more, the fewer keep them."""
    lots, slope = forecast.collection, np.zeros(forecast.collection.size)
    true = np.array([breeding is not Breeding.F1 for breeding in lots.breeding], dtype=np.bool_)
    saved = sown[(true & (lots.saved_here | (lots.other_keepers == 0)))[sown]]
    _, which, number = np.unique(lots.variety_id[saved], return_inverse=True, return_counts=True)
    slope[saved] = LINE_ROWS[keepers_reckoned(lots)[saved]] / number[which]
    return slope


def row_plants(forecast: Forecast, at: int) -> int:
    """Plants of a usual row: those wanted, or as many as stand in three metres."""
    wanted = int(forecast.collection.plants_wanted[at])
    if wanted > 0:
        return wanted
    return max(round(usual_row(forecast.facts_of(at)).plants), 1)
