"""Seed that is only sown for rows: how thickly, how many rows it does, and when a packet is better.

Judged by one row of 3 m, sown as thickly as the advice on its usual sowing has it
(``lot_thickness``). A usual sowing of good seed (88 % alive) is taken to give the seedlings a place
named below; weaker seed gives them in proportion to what is alive, and what it is worth is judged
as if sown thicker in that proportion, as far as practice allows. What that fills of a row, and what
the gaps cost, is as in ``crop_filling``, but that units of one station or cell come up by
themselves: 1 - (1 - e)^k. A fresh packet costs what 4 plants are worth (our choice).

Outside checks: the renewal share against walked rows and the binomial against counting
(``test_row_decision``).
"""

from dataclasses import dataclass, replace

import numpy as np
import scipy

from seedbank.science.quantities import BoolArray, FloatArray
from seedbank.science.sowing.crop_filling import PLACES, WAYS, Crop
from seedbank.science.sowing.lot_thickness import LotRates, UsualRates, lot_rates
from seedbank.science.sowing.usual_rate import THICKER_FROM

ROW_M = 3.0
GOOD_ALIVE = 0.88  # the middle of 80 to 96 %
FULL_ROW = 2.5  # seedlings a place of a usual drilled sowing of good seed
GOOD_EMERGENCE = 0.6  # of seed set at a station or in a cell
PACKET_PLANTS = 4.0
PACKET_SHARE = 0.25  # of the crop, at most: a packet is never worth a whole small row
PLANT_WORTH = 0.0075  # lines nobody else keeps: a packet, 0.03, is worth four plants
_NEVER_SURE = 1e-9  # no seed is dead, or alive, beyond all doubt
_ROW, _STATION = Crop("drilled", 1), Crop("station", 1)


@dataclass(frozen=True, slots=True)
class Rows:
    """Seed of L lots: ``seeds`` (L,), ``alive`` (L, N) at N equally likely values of what isn't
    known, ``plants`` of a row (L,), and how thickly it is usually sown."""

    seeds: FloatArray
    alive: FloatArray
    plants: FloatArray
    usual: UsualRates

    @property
    def drilled(self) -> BoolArray:
        """Lots (L,) sown in rows, rather than set at stations or in cells."""
        return np.asarray(~np.isin(np.array(WAYS)[self.usual.way], PLACES), dtype=np.bool_)


@dataclass(frozen=True, slots=True)
class RowDecision:
    """Columns (L,). ``times`` the usual rate to sow; ``thicker``: that is worth saying; ``crop``
    and ``good_crop`` shares of a full crop from it and from good seed; ``weak``: a fresh packet is
    the lesser loss; ``row_seeds`` a row takes; ``rows`` the lot does, as it will be sown;
    ``losses`` (L, 2, N) of sowing it and of a fresh packet, in lines nobody else keeps.
    """

    times: FloatArray
    thicker: BoolArray
    crop: FloatArray
    good_crop: FloatArray
    weak: BoolArray
    row_seeds: FloatArray
    rows: FloatArray
    losses: FloatArray


def decide_rows(lots: Rows) -> RowDecision:
    """How to sow each lot, and whether to. Raises ValueError for shares out of 0..1."""
    if np.any(~((lots.alive >= 0) & (lots.alive <= 1))):
        raise ValueError("alive must lie in 0..1")
    sown = _sown(lots)
    crop, good = _crops(lots)
    short, packet = _short_of_plants(lots, crop, good), _packet(lots)
    row_seeds = lots.plants * sown.rate
    losses = PLANT_WORTH * np.stack([short, np.broadcast_to(packet[:, None], short.shape)], axis=1)
    return RowDecision(
        times=sown.thickness,
        thicker=sown.thickness >= THICKER_FROM,
        crop=crop.mean(axis=1),
        good_crop=good,
        weak=short.mean(axis=1) > packet,
        row_seeds=row_seeds,
        rows=lots.seeds / row_seeds,
        losses=losses,
    )


def _sown(lots: Rows) -> LotRates:
    probits = scipy.special.ndtri(np.clip(lots.alive, _NEVER_SURE, 1.0 - _NEVER_SURE))
    return lot_rates(lots.usual, probits)


def _crops(lots: Rows) -> tuple[FloatArray, FloatArray]:
    """Shares of a full crop (L, N) from each lot, and (L,) from good seed."""
    usual, mean = lots.usual, np.maximum(lots.alive.mean(axis=1), 1e-6)
    in_proportion = np.minimum(usual.good * np.maximum(GOOD_ALIVE / mean, 1.0), usual.most)
    good = np.full((usual.good.size, 1), GOOD_ALIVE)
    return row_crop(lots, lots.alive, in_proportion), row_crop(lots, good, usual.good)[:, 0]


def _short_of_plants(lots: Rows, crop: FloatArray, good: FloatArray) -> FloatArray:
    return np.asarray(lots.plants[:, None] * (good[:, None] - crop))


def _packet(lots: Rows) -> FloatArray:
    return np.minimum(PACKET_PLANTS, PACKET_SHARE * lots.plants)


@dataclass(frozen=True, slots=True)
class RowsAhead:
    """Columns (L,): ``seasons`` for which, one after the other from the next sowing, a lot is fit
    for rows; ``seeds_next`` that a row of it takes in the season after that sowing."""

    seasons: FloatArray
    seeds_next: FloatArray


def rows_ahead(lots: Rows, alive: FloatArray) -> RowsAhead:
    """How long lots stay fit for rows, ``alive`` (S, L, N) by season; ``lots.alive`` is not used.

    A lot is no longer fit once a fresh packet is the lesser loss (``RowDecision.weak``).
    """
    fit, seasons = np.ones(lots.seeds.size, dtype=np.bool_), np.zeros(lots.seeds.size)
    for season in alive:
        then = replace(lots, alive=season)
        fit &= _short_of_plants(then, *_crops(then)).mean(axis=1) <= _packet(then)
        seasons += fit
        if not fit.any():
            break
    return RowsAhead(seasons, lots.plants * _sown(replace(lots, alive=alive[1])).rate)


def alive_levels(usual: UsualRates, plants: float) -> tuple[float, float]:
    """Shares alive under which one lot, known so exactly, is sown thicker, and is replaced.

    To a thousandth. Never: 0.
    """
    alive = np.linspace(0.0, 1.0, 1001)
    low, high, most, good = (
        np.repeat(column, alive.size) for column in (usual.low, usual.high, usual.most, usual.good)
    )
    each = UsualRates(np.repeat(usual.way, alive.size), low, high, most, good)
    row = Rows(np.ones_like(alive), alive[:, None], np.full_like(alive, plants), each)
    told = decide_rows(row)
    thicker, weak = (float(alive[~now].min(initial=1.0)) for now in (told.thicker, told.weak))
    return thicker, weak


def row_crop(lots: Rows, alive: FloatArray, rate: FloatArray) -> FloatArray:
    """Share of a full crop (L, N) from a row sown at a ``rate`` (L,), units a place, of seed so
    much alive.

    The formulas stand in ``crop_filling``, with their sources.
    """
    good, times = alive / GOOD_ALIVE, (rate / lots.usual.good)[:, None]
    seedlings = FULL_ROW * times * good
    missing = np.clip(1.0 - GOOD_EMERGENCE * good, 0.0, 1.0)
    set_out = 1.0 - missing ** rate[:, None]
    row = _ROW.crop(_ROW.filled(seedlings, times))
    return np.where(lots.drilled[:, None], row, _STATION.crop(set_out))
