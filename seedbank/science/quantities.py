"""What an answer found, as a code with the numbers it rests on.

Value types that pass between science modules. Probabilities and fractions run 0..1 here.

Between weight and number of seeds, by thousand-seed weight, with the error carried over.

First-order error; outside check: repeated draws of the thousand-seed weight.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, fields, is_dataclass, replace
from datetime import date
from math import isfinite
from typing import Any, ClassVar, Protocol, TypeVar

import numpy as np
from numpy.typing import ArrayLike, NDArray


class _Columns(Protocol):
    """Any dataclass."""

    __dataclass_fields__: ClassVar[dict[str, Any]]


Table = TypeVar("Table", bound=_Columns)


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing an answer says: a stable code, and the numbers, names and days in it. No words.

    Names in ``values`` carry the unit (``_seeds``, ``_days``, ``_pct``); chances are 0..1, and what
    isn't known is None, or a number that is not finite. A value that is a finding itself is a
    clause of the sentence, several are a list. The shape is our choice.
    """

    code: str
    values: Mapping[str, "Value"] = field(default_factory=dict)

    @property
    def numbers(self) -> dict[str, float]:
        """The numbers that are known, by name."""
        return {
            name: float(value)
            for name, value in self.values.items()
            if isinstance(value, int | float) and isfinite(value)
        }

    @property
    def names(self) -> dict[str, str]:
        """Names, codes and days (ISO 8601), by name."""
        return {
            name: str(value) for name, value in self.values.items() if isinstance(value, str | date)
        }


Value = float | str | date | Finding | tuple["str | Finding", ...] | None
SAYS_LITTLE = frozenset({"rare", "common"})
"""Codes of findings that only say how many others keep the variety. Our choice."""


def weightiest(findings: Sequence[Finding]) -> Finding:
    """The first finding that is more than how many others keep the variety, of one at least."""
    return next((one for one in findings if one.code not in SAYS_LITTLE), findings[0])


INTERVAL_LEVEL = 0.9
"""Probability that intervals are meant to hold. Our choice; fields named ``low_90`` are of it."""
INTERVAL_ENDS = (round((1.0 - INTERVAL_LEVEL) / 2.0, 12), round((1.0 + INTERVAL_LEVEL) / 2.0, 12))
"""Probabilities below the two ends of a central interval."""
BAND_QUANTILES = (INTERVAL_ENDS[0], 0.25, 0.5, 0.75, INTERVAL_ENDS[1])
"""Probabilities at the ends of the interval and of the middle half, and at the median."""
USUAL_CONFIDENCE = 0.9
"""How surely seed is to give the plants wanted where nobody asks otherwise. Our choice."""

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


def slices(size: int, at_once: int) -> Iterator[slice]:
    """Slices of so many rows that together hold them all; of no rows, one empty slice."""
    for start in range(0, max(size, 1), at_once):
        yield slice(start, start + at_once)


def taken(table: Table, rows: IntArray | BoolArray | slice) -> Table:
    """Some rows of a frozen dataclass whose fields are arrays with one row each, or such tables."""
    columns = {field_.name: getattr(table, field_.name) for field_ in fields(table)}
    return replace(
        table,
        **{
            name: column[rows] if isinstance(column, np.ndarray) else taken(column, rows)
            for name, column in columns.items()
        },
    )


def joined(parts: Sequence[Table]) -> Table:
    """Such tables one after the other, and the tables within them."""
    first, columns = parts[0], {}
    for field_ in fields(first):
        values = [getattr(part, field_.name) for part in parts]
        columns[field_.name] = joined(values) if is_dataclass(values[0]) else np.concatenate(values)
    return replace(first, **columns)


def standard_normal_nodes(count: int) -> tuple[FloatArray, FloatArray]:
    """Gauss's rule for N(0, 1): points and weights, both (``count``,); the weights sum to 1."""
    point, weight = np.polynomial.hermite_e.hermegauss(count)
    return point, weight / weight.sum()


def seeds_from_grams(
    grams: ArrayLike, tsw_g: ArrayLike, tsw_se_g: ArrayLike = 0.0
) -> tuple[FloatArray, FloatArray]:
    """Seed units in ``grams`` and their standard error, given the thousand-seed weight.

    n = 1000 grams / tsw, and to first order se(n) = n se(tsw) / tsw: the relative error passes
    from divisor to quotient (delta method; JCGM 100:2008, 5.1.6). The error itself is then
    low by about 4 (tsw_se_g / tsw_g)^2 of it: 4 % at a tenth. Weighing is taken as exact: a kitchen
    scale's error is small beside that of a thousand-seed weight.

    Arrays broadcast; the results are not rounded. Raises ValueError: a weight below 0 g, a
    thousand-seed weight not above 0 g, a standard error below 0, or any of them not finite.
    """
    weight, tsw, error = (np.asarray(x, dtype=np.float64) for x in (grams, tsw_g, tsw_se_g))
    if not (np.all(np.isfinite(weight)) and np.all(weight >= 0)):
        raise ValueError("grams must be 0 or more")
    if not (np.all(np.isfinite(tsw)) and np.all(tsw > 0)):
        raise ValueError("tsw_g must be above 0")
    if not (np.all(np.isfinite(error)) and np.all(error >= 0)):
        raise ValueError("tsw_se_g must be 0 or more")
    seeds = 1000.0 * weight / tsw
    return seeds, seeds * error / tsw


def grams_from_seeds(seeds: ArrayLike, tsw_g: ArrayLike) -> FloatArray:
    """Weight of ``seeds`` units in grams. Raises ValueError: tsw_g not above 0."""
    tsw = np.asarray(tsw_g, dtype=np.float64)
    if not (np.all(np.isfinite(tsw)) and np.all(tsw > 0)):
        raise ValueError("tsw_g must be above 0")
    return np.asarray(seeds, dtype=np.float64) * tsw / 1000.0
