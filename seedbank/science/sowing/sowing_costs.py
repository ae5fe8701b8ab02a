"""What sowing costs, told in plants: one plant missing at the end of the season is 1.

All of it is our choice, set so that a good lot lands at the rates that are printed: calibration,
not proof.

Outside check: advised rates beside printed ones (``tests/science/sowing/test_usual_rates``).
"""

import math
from dataclasses import dataclass, replace

import numpy as np

from seedbank.science.quantities import FloatArray

_SEED = {"fine": 0.004, "large": 0.02}
_RARE_SEED, _RARE_A_PLANT = 0.05, 25.0  # of a stock up to so many seeds for each plant wanted
_THINNING = {"drilled": 0.02, "spaced": 0.02, "to-stand": 0.02, "station": 0.03, "cell": 0.05}
_CLUSTER_THINNING = 0.03
_DELAY = {"drilled": 0.30, "spaced": 0.30, "to-stand": 0.30, "station": 0.35, "cell": 0.25}
_CELL = 0.03
# Work of a second sowing: at least so much, and so much a plant wanted.
_WORK = {"station": (0.15, 0.03), "cell": (0.3, 0.04)}
_WORK_IN_A_ROW = (0.5, 0.06)
LARGE_SEED_G = 20.0
"""Thousand-seed weight from which seed is priced as large; our choice."""


@dataclass(frozen=True, slots=True)
class Prices:
    """In plants: a seed, thinning (or crowding by) one seedling too many, a cell filled with
    compost, the work of a second sowing; ``delay`` is the share that a later plant is worth less.
    """

    seed: float
    thinning: float
    cell: float
    work: float
    delay: float

    def of_seed(self, units: FloatArray, stock: float | None) -> FloatArray:
        """Price of ``units`` from ``stock``: each dearer by (stock + 1) / (what is left + 1)."""
        if stock is None:
            return self.seed * units
        left = np.maximum(stock - units, 0.0)
        return np.asarray(self.seed * (stock + 1.0) * np.log((stock + 1.0) / (left + 1.0)))

    def of_rare(self, wanted: int, stock: float | None) -> "Prices":
        """The same for seed of a variety that few keep; the more there is the less it is dearer."""
        much = 1.0 if stock is None else max(stock / (_RARE_A_PLANT * wanted), 1.0)
        return replace(self, seed=max(self.seed, _RARE_SEED / much))

    def in_time(self, again: bool) -> "Prices":
        """The same where a second sowing can still come to something, or can't."""
        return self if again else replace(self, delay=1.0)


def usual_prices(way: str, wanted: int, seed: str = "fine", *, cluster: bool = False) -> Prices:
    """Prices for one of ``crop_filling.WAYS``; ``seed`` is ``fine`` or ``large``."""
    least, each = _WORK.get(way, _WORK_IN_A_ROW)
    return Prices(
        seed=_SEED[seed],
        thinning=_CLUSTER_THINNING if cluster else _THINNING[way],
        cell=_CELL if way == "cell" else 0.0,
        work=max(least, each * wanted),
        delay=_DELAY[way],
    )


def plants_for_packet(wanted: int) -> float:
    """What a fresh packet costs, in plants: 4 of a small crop, a tenth of a larger one."""
    return max(4.0, math.ceil(wanted / 10.0))
