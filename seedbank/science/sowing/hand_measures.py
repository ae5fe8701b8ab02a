"""A rate in a person's measures: under a spread hand, by the pinch, at spots of the row to count.

Arithmetic alone. A pinch is a number that fingers can tell apart, every whole number of centimetres
that a finger can step off; five spots of a hand-span each are looked at: all our choice. A hand's
span is some 20 cm (common practice, no single source), and asked for.

Outside check: a worked row, 105 seeds a metre by the hand and by the pinch
(``tests/science/sowing/test_hand_measures.py``).
"""

import math
from dataclasses import dataclass

HAND_SPAN_CM = 20.0
SPOTS = 5
_PINCHES = (1, 2, 3, 4, 6, 8)
_STEPS_CM = (2, 3, 4, 5, 6, 8, 10)
_NEAR = 0.1  # of the rate: nobody pinches closer


@dataclass(frozen=True, slots=True)
class Pinch:
    """So many ``seeds`` every ``every_cm``."""

    seeds: int
    every_cm: int

    @property
    def seeds_per_m(self) -> float:
        """The rate it comes to."""
        return 100.0 * self.seeds / self.every_cm


def pinch_for(seeds_per_m: float) -> Pinch:
    """The pinch nearest to a rate: within a tenth of it the smallest step, else the nearest of all.

    Raises ValueError: a rate of nothing.
    """
    if not seeds_per_m > 0.0:
        raise ValueError(f"a pinch is of some seed, got {seeds_per_m!r} a metre")
    every = [Pinch(seeds, step) for step in _STEPS_CM for seeds in _PINCHES]
    off = [abs(math.log(one.seeds_per_m / seeds_per_m)) for one in every]
    return next(
        (one for one, far in zip(every, off, strict=True) if far <= _NEAR),
        every[off.index(min(off))],
    )


def under_a_hand(seeds_per_m: float, span_cm: float = HAND_SPAN_CM) -> float:
    """Seeds that lie under a spread hand."""
    return seeds_per_m * span_cm / 100.0


def fewest_at_spots(fewest: int, row_m: float, span_cm: float = HAND_SPAN_CM) -> int | None:
    """Plants at five hand-spans of a row that are as thin as ``fewest`` in all of it.

    None: the row is no longer than the spots, and is counted whole.
    """
    looked_at_m = SPOTS * span_cm / 100.0
    if row_m <= looked_at_m:
        return None
    return math.ceil(fewest * looked_at_m / row_m - 1e-9)
