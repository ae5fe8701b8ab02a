"""Is the soil warm enough: emergence, in probits and days, against soil temperature.

A kind's printed emergence percentages by soil temperature become probit shifts against its best
temperature. One optimum is assumed (sub- and supra-optimal temperatures each worse than nearer
ones), so printed noise is smoothed by isotonic regression on the probit scale on either side.

Data meant: J.F. Harrington & P.A. Minges, Vegetable Seed Germination (1954). Isotonic
regression: R.E. Barlow et al., Statistical Inference under Order Restrictions (1972). Days
between printed temperatures are interpolated as rates (1/days), which are near linear in
temperature below the optimum (thermal time: J. Garcia-Huidobro, J.L. Monteith & G.R. Squire,
Journal of Experimental Botany 33:288-296, 1982).

Outside check: the printed rows of Harrington & Minges 1954 (packaged table) come back.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.special import ndtri

from seedbank.science.quantities import BoolArray, Finding, FloatArray
from seedbank.science.sowing.emergence import REFERENCE_VIABILITY, emergence_probability

# A hundred seeds can't tell 97.5 % from 100 %, nor half a seed from none; taken as equal, so
# that sampling noise near the ends does not become probits. Our choice.
_FLOOR_PCT, _CEILING_PCT = 0.5, 97.5
# Emergence at or below this percentage counts as none: it is printed beside "no germination".
_NO_EMERGENCE_PCT = 2.0
# Losing more than this share of good seed to temperature alone is not worth the seed. Our choice.
_TOO_MUCH_LOST = 0.75
_LITTLE_LOST = 0.05

# Shift at a kind's minimum temperature where it has no table of its own: median over the tabled
# kinds of the shift at their stated minimum (see tests/science/sowing/test_soil_warmth.py).
SHIFT_AT_MINIMUM = 1.2
# At its base temperature good seed comes as rarely as counts for none.
_SHIFT_AT_BASE = float(ndtri(REFERENCE_VIABILITY) - ndtri(_NO_EMERGENCE_PCT / 100.0))


@dataclass(frozen=True, slots=True)
class TemperatureRow:
    """One printed line: soil temperature, days to emergence and percentage, None if not given."""

    soil_temp_c: float
    days: float | None
    emergence_pct: float | None


@dataclass(frozen=True, slots=True)
class TemperatureCurve:
    """Shift against soil temperature, arrays in rising temperature.

    ``dead`` marks temperatures at which nothing emerged. Days have their own temperatures.
    """

    temp_c: FloatArray
    shift: FloatArray
    dead: BoolArray
    days_temp_c: FloatArray
    days: FloatArray
    basis: str


UNFIT = ("cold", "hot")
"""Verdicts under which nothing should be sown yet. The words are our choice."""


@dataclass(frozen=True, slots=True)
class SoilWarmth:
    """Judgement of a soil temperature for one kind.

    ``verdict``: ``"good"``, ``"slow"``, ``"cold"``, ``"hot"`` or ``"unknown"``; cold and hot
    mean do not sow. ``shift`` is in probits against the best temperature; ``share_lost`` is what
    that takes from seed that emerges 90 % at best; ``days`` to emergence, None where unknown.
    """

    verdict: str
    shift: float
    share_lost: float
    days: float | None
    caution: Finding


def temperature_curve(
    rows: Sequence[TemperatureRow], minimum_c: float | None = None
) -> TemperatureCurve | None:
    """Curve of a kind from its printed rows; None when fewer than two percentages are known.

    ``minimum_c`` (the kind's stated minimum) carries the curve below the coldest soil tried,
    where that soil still gave seedlings.
    """
    known = sorted(
        (row.soil_temp_c, row.emergence_pct) for row in rows if row.emergence_pct is not None
    )
    if len(known) < 2 or max(pct for _, pct in known) <= _NO_EMERGENCE_PCT:
        return None
    temp = np.array([t for t, _ in known])
    pct = np.array([p for _, p in known])
    probits = ndtri(np.clip(pct, _FLOOR_PCT, _CEILING_PCT) / 100.0)
    smooth = _one_optimum(np.asarray(probits))
    timed = sorted((row.soil_temp_c, row.days) for row in rows if row.days is not None)
    shift, dead = smooth.max() - smooth, pct <= _NO_EMERGENCE_PCT
    if minimum_c is not None and minimum_c < temp[0] and not dead[0]:
        coldest = max(float(shift[0]), SHIFT_AT_MINIMUM)
        temp = np.concatenate([[minimum_c - 0.5, minimum_c], temp])
        shift = np.concatenate([[coldest, coldest], shift])
        dead = np.concatenate([[True, False], dead])
    return TemperatureCurve(
        temp,
        shift,
        dead,
        np.array([t for t, _ in timed]),
        np.array([d for _, d in timed]),
        "emergence table",
    )


def generic_curve(
    minimum_c: float, optimum_c: float, maximum_c: float | None, base_c: float | None = None
) -> TemperatureCurve:
    """Curve from a kind's printed minimum, optimum and maximum alone; days unknown.

    Straight in probits from the optimum to the minimum (and maximum). The minimum is where sowing
    begins to make sense; ``base_c`` under it, where a trial found it, is where nothing comes any
    more, and the curve goes on down to it. Raises ``ValueError`` unless minimum < optimum, and
    optimum <= maximum where given.
    """
    if not minimum_c < optimum_c or (maximum_c is not None and maximum_c < optimum_c):
        raise ValueError(
            f"need minimum < optimum <= maximum, got {minimum_c, optimum_c, maximum_c}"
        )
    temp, shift = [minimum_c - 0.5, minimum_c, optimum_c], [SHIFT_AT_MINIMUM] * 2 + [0.0]
    dead = [True, False, False]
    if maximum_c is not None:
        if maximum_c > optimum_c:
            temp, shift, dead = [*temp, maximum_c], [*shift, SHIFT_AT_MINIMUM], [*dead, False]
        temp, shift, dead = [*temp, maximum_c + 0.5], [*shift, SHIFT_AT_MINIMUM], [*dead, True]
    if base_c is not None and base_c < minimum_c:
        temp, dead = [base_c - 0.5, base_c, *temp[1:]], [True, False, *dead[1:]]
        shift = [_SHIFT_AT_BASE, _SHIFT_AT_BASE, *shift[1:]]
    empty = np.zeros(0)
    return TemperatureCurve(
        np.array(temp), np.array(shift), np.array(dead), empty, empty, "minimum and optimum only"
    )


def judge_soil(curve: TemperatureCurve | None, soil_temp_c: float | None) -> SoilWarmth:
    """Shift, days and caution for sowing at a soil temperature (Celsius)."""
    if curve is None or soil_temp_c is None:
        missing = Finding("soil-unknown", {"temperature_known": soil_temp_c is not None})
        return SoilWarmth("unknown", 0.0, 0.0, None, missing)
    shift = float(np.interp(soil_temp_c, curve.temp_c, curve.shift))
    lost = float(1.0 - _share_left(shift))
    days = _days(curve, soil_temp_c)
    best = curve.temp_c[int(np.argmin(curve.shift))]
    none_come = _nothing_emerges(curve, soil_temp_c)
    if none_come or lost > _TOO_MUCH_LOST:
        side = "cold" if soil_temp_c < best else "hot"
        unfit = Finding("soil-unfit", {"soil_temp_c": soil_temp_c, "side": side})
        return SoilWarmth(
            side, shift, 1.0 if none_come else lost, None if none_come else days, unfit
        )
    if not curve.temp_c[0] <= soil_temp_c <= curve.temp_c[-1]:
        untried = Finding("soil-untried", {"soil_temp_c": soil_temp_c})
        return SoilWarmth("unknown", shift, lost, days, untried)
    if lost <= _LITTLE_LOST:
        return SoilWarmth("good", shift, lost, days, Finding("soil-good"))
    slow = Finding("soil-slow", {"soil_temp_c": soil_temp_c, "share_lost": lost})
    return SoilWarmth("slow", shift, lost, days, slow)


def _share_left(shift: float) -> float:
    whole = ndtri(REFERENCE_VIABILITY)
    return float(emergence_probability(whole, shift)) / REFERENCE_VIABILITY


def _nothing_emerges(curve: TemperatureCurve, soil_temp_c: float) -> bool:
    """Nearer to a temperature at which nothing came than to one at which something did."""
    live = curve.temp_c[~curve.dead]
    if live.min() <= soil_temp_c <= live.max():
        return False
    edge = live.min() if soil_temp_c < live.min() else live.max()
    beyond = curve.temp_c[curve.dead & ((curve.temp_c < edge) == (soil_temp_c < edge))]
    if beyond.size == 0:
        return False
    nearest = beyond[int(np.argmin(np.abs(beyond - edge)))]
    return bool(abs(soil_temp_c - edge) >= abs(nearest - soil_temp_c))


def _days(curve: TemperatureCurve, soil_temp_c: float) -> float | None:
    temp = curve.days_temp_c
    if temp.size == 0 or not temp[0] <= soil_temp_c <= temp[-1]:
        return None
    return float(1.0 / np.interp(soil_temp_c, temp, 1.0 / curve.days))


def _one_optimum(values: FloatArray) -> FloatArray:
    """Least-squares fit that rises to one peak and falls after it."""
    best, best_error = values, np.inf
    for peak in range(values.size):
        up, down = rising(values[: peak + 1]), -rising(-values[peak:])
        fit = np.concatenate([up[:-1], [max(up[-1], down[0])], down[1:]])
        error = float(((fit - values) ** 2).sum())
        if error < best_error - 1e-12:
            best, best_error = fit, error
    return np.asarray(best, dtype=np.float64)


def rising(values: FloatArray) -> FloatArray:
    """Least-squares fit (n,) that never falls: the most, over where a run of values may begin, of
    the least mean that a run through each value may have (min-max formula of isotonic regression).

    Outside check: ``scipy.optimize.isotonic_regression``, which takes too long to load for this.
    """
    total = np.concatenate([[0.0], np.cumsum(values)])
    begin, end = np.indices((values.size, values.size))
    mean = (total[end + 1] - total[begin]) / np.maximum(end - begin + 1, 1)
    mean[end < begin] = np.inf
    least = np.minimum.accumulate(mean[:, ::-1], axis=1)[:, ::-1]
    least[end < begin] = -np.inf
    return np.asarray(least.max(axis=0), dtype=np.float64)
