"""How thickly lots are sown beside good seed, many at a time: the advised rate's own correction.

The rate of least cost (``usual_rate``) takes a search for each lot. Of a lot whose viability lies
about m probits with a spread s it is a good lot's times r, in a bed that taught nothing yet, with

    log r = a + b m + c m^2 + (d + e m) s^2

by way of sowing: fitted to that search over 21 kinds, within 2 % (rms) of it for drilled seed, 3 %
for seed sown to stand, 9 % for seed set one by one and 8 % for cells, where r is 0.9 to 2.1. It is
held to the usual range and the cap as the advice is. So what a verdict says of a lot and what the
advice on its usual sowing says are one measure.

Outside check: the search itself, kind by kind (``test_lot_thickness``).
"""

from dataclasses import dataclass

import numpy as np
import scipy

from seedbank.science.quantities import FloatArray, IntArray
from seedbank.science.sowing.crop_filling import PLACES, WAYS
from seedbank.science.sowing.usual_rate import GOOD_LOT, share_held, thickness

_FITTED = np.array(
    [
        (1.114, -0.976, 0.094, -0.179, 0.221),  # drilled
        (1.317, -1.040, 0.045, -0.326, 0.461),  # spaced
        (1.025, -0.879, 0.063, -0.200, 0.314),  # to-stand
        (1.317, -1.040, 0.045, -0.326, 0.461),  # station: as set one by one
        (0.826, -0.845, 0.131, 0.297, 0.017),  # cell
    ]
)
_MEAN_PROBITS, _SPREAD_PROBITS = (-1.0, 2.0), (0.15, 1.0)  # of the fit; no test tells more surely
_AT_A_PLACE = np.isin(WAYS, PLACES)


@dataclass(frozen=True, slots=True)
class UsualRates:
    """How seed of L lots is usually sown, columns (L,): ``way`` an index of ``WAYS``; units a
    place, lowest and highest as printed, the most that practice allows, and ``good`` of a good lot,
    held to the usual range."""

    way: IntArray
    low: FloatArray
    high: FloatArray
    most: FloatArray
    good: FloatArray


@dataclass(frozen=True, slots=True)
class LotRates:
    """Units a place to sow of each lot, (L,), not rounded, and how thickly that is beside good
    seed, as ``usual_rate.thickness`` measures it."""

    rate: FloatArray
    thickness: FloatArray


def lot_rates(usual: UsualRates, probits: FloatArray) -> LotRates:
    """How thickly to sow lots whose probit viability is ``probits`` (L, N), equally likely."""
    mean = np.clip(probits.mean(axis=1), *_MEAN_PROBITS)
    spread = np.clip(probits.std(axis=1), *_SPREAD_PROBITS)
    a, b, c, d, e = _FITTED[usual.way].T
    asked = usual.good * np.exp(a + b * mean + c * mean**2 + (d + e * mean) * spread**2)
    held = share_held(scipy.special.ndtr((mean - scipy.special.ndtri(GOOD_LOT[0])) / spread))
    cell = usual.way == WAYS.index("cell")
    inside = np.clip(asked, usual.low, usual.high + (cell & (usual.most > usual.high)))
    rate = np.minimum(held * inside + (1.0 - held) * asked, usual.most)
    places = _AT_A_PLACE[usual.way]
    sown = np.where(places, np.maximum(np.round(rate), 1.0), rate)
    return LotRates(rate, thickness(sown, usual.good, usual.high, places))
