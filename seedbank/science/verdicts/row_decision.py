"""Seed that is only sown for rows: how thickly, how many rows it does, and when a packet is better.

Judged by one row of 3 m, sown with as many seeds a plant as is usual for the method. A usual sowing
of good seed (88 % alive) is taken to give the seedlings a place named below; weaker seed gives them
in proportion to what is alive, and is sown thicker for it, up to twice. What that fills of a row,
and what the gaps cost, is as in ``crop_filling``, but that units of one station or cell come up by
themselves: 1 - (1 - e)^k. A fresh packet costs what 4 plants are worth (our choice).

Outside checks: the renewal share against walked rows and the binomial against counting
(``test_row_decision``).
"""

from dataclasses import dataclass
from functools import cache

import numpy as np

from seedbank.science.quantities import BoolArray, FloatArray
from seedbank.science.sowing.crop_filling import Crop

ROW_M = 3.0
GOOD_ALIVE = 0.88  # the middle of 80 to 96 %
FULL_ROW = 2.5  # seedlings a place of a usual drilled sowing of good seed
GOOD_EMERGENCE = 0.6  # of seed set at a station or in a cell
THICKEST = 2.0
THICKER_FROM = 1.25  # times the usual rate; less is sown as usual
PACKET_PLANTS = 4.0
PACKET_SHARE = 0.25  # of the crop, at most: a packet is never worth a whole small row
PLANT_WORTH = 0.0075  # lines nobody else keeps: a packet, 0.03, is worth four plants
_ROW, _STATION = Crop("drilled", 1), Crop("station", 1)


@dataclass(frozen=True, slots=True)
class Rows:
    """Seed of L lots: ``seeds`` (L,), ``alive`` (L, N) at N equally likely values of what isn't
    known, ``seeds_a_plant`` usually sown and ``plants`` of a row (L,), and whether it is
    ``drilled`` and thinned rather than set at stations or in cells."""

    seeds: FloatArray
    alive: FloatArray
    seeds_a_plant: FloatArray
    plants: FloatArray
    drilled: BoolArray


@dataclass(frozen=True, slots=True)
class RowDecision:
    """Columns (L,). ``times`` the usual rate to sow, 1 to 2; ``thicker``: that is worth saying;
    ``crop`` and ``good_crop`` shares of a full crop from it and from good seed; ``weak``: a fresh
    packet is the lesser loss; ``row_seeds`` a row takes; ``rows`` the lot does, as it will be sown;
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
    mean = np.maximum(lots.alive.mean(axis=1), 1e-6)
    times = np.clip(GOOD_ALIVE / mean, 1.0, THICKEST)
    crop = row_crop(lots, lots.alive, times)
    good = row_crop(lots, np.full((mean.size, 1), GOOD_ALIVE), np.ones_like(mean))[:, 0]
    short = lots.plants[:, None] * (good[:, None] - crop)
    packet = np.minimum(PACKET_PLANTS, PACKET_SHARE * lots.plants)
    row_seeds = lots.seeds_a_plant * lots.plants * times
    losses = PLANT_WORTH * np.stack([short, np.broadcast_to(packet[:, None], short.shape)], axis=1)
    return RowDecision(
        times=times,
        thicker=times >= THICKER_FROM,
        crop=crop.mean(axis=1),
        good_crop=good,
        weak=short.mean(axis=1) > packet,
        row_seeds=row_seeds,
        rows=lots.seeds / row_seeds,
        losses=losses,
    )


@cache
def row_levels(seeds_a_plant: float, plants: float, *, drilled: bool) -> tuple[float, float]:
    """Shares alive under which a lot known so exactly is sown thicker, and is replaced.

    To a thousandth. Never replaced: 0.
    """
    alive = np.linspace(0.0, 1.0, 1001)
    each = np.full_like(alive, seeds_a_plant)
    row = Rows(
        np.ones_like(alive), alive[:, None], each, np.full_like(alive, plants),
        np.full(alive.size, drilled),
    )  # fmt: skip
    told = decide_rows(row)
    return float(alive[~told.thicker].min()), float(alive[~told.weak].min())


def thickness_step(times: float) -> str:
    """How much thicker, as a step: ``little``, ``half`` as thick again, ``nearly-twice``,
    ``twice``. Our choice of steps; never beyond twice."""
    for step, under in (("little", 1.4), ("half", 1.7), ("nearly-twice", THICKEST)):
        if times < under:
            return step
    return "twice"


def row_crop(lots: Rows, alive: FloatArray, times: FloatArray) -> FloatArray:
    """Share of a full crop (L, N) from a row sown ``times`` the usual rate of seed so much alive.

    The formulas stand in ``crop_filling``, with their sources.
    """
    good = alive / GOOD_ALIVE
    seedlings = FULL_ROW * times[:, None] * good
    missing = np.clip(1.0 - GOOD_EMERGENCE * good, 0.0, 1.0)
    set_out = 1.0 - missing ** (lots.seeds_a_plant * times)[:, None]
    row = _ROW.crop(_ROW.filled(seedlings, times[:, None]))
    return np.where(lots.drilled[:, None], row, _STATION.crop(set_out))
