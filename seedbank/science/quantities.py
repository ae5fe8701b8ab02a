"""Value types that pass between science modules. Probabilities and fractions run 0..1 here."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]
BoolArray = NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Interval:
    """An interval for one number, and the probability it is meant to hold it."""

    low: float
    high: float
    level: float


@dataclass(frozen=True, slots=True)
class Band:
    """Median with a 50 % and a 90 % central band, one entry a lot (shape (L,))."""

    median: FloatArray
    low_50: FloatArray
    high_50: FloatArray
    low_90: FloatArray
    high_90: FloatArray


@dataclass(frozen=True, slots=True)
class ProbitNodes:
    """A distribution over viability as weighted points on the probit scale.

    ``probit`` and ``weight`` have shape (L, N); each lot's weights sum to 1. Viability at a node
    is the normal distribution function of ``probit``.
    """

    probit: FloatArray
    weight: FloatArray
