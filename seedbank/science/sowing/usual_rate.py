"""The advised rate: what is usual, times what this lot changes, within what practice allows.

    rate = r x clip(k of a good lot, usual range),  r = k of this lot / k of a good lot,  then a cap

with k the rate of least cost (``two_sowings``). A good lot is 80 to 96 % alive (90 % band) in the
same bed. The surer a lot is to be 80 % alive, the closer it is held to the usual range. Caps, our
choice: rows twice the geometric middle of the usual range, stations the usual most and two, cells
and one. What to say, our choice too: at 80 % for a good crop in the end and sowing again less
likely than not, sow; over 65 %, sow and plan a second sowing; below that test first or get fresh
seed; under an eighth of a crop it is not worth the bed.

Outside checks: advised beside printed rates (``tests/science/sowing/test_usual_rates``), and cases
worked out before by an independent prototype.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from functools import lru_cache

import numpy as np
import scipy
from numpy.typing import ArrayLike

from seedbank.science.germination.proportion import INTERVAL_REACH
from seedbank.science.quantities import FloatArray, standard_normal_nodes
from seedbank.science.sowing.crop_filling import PLACES
from seedbank.science.sowing.emergence import BetaShare, ShiftLaw, WeightedNodes
from seedbank.science.sowing.emergence_twice import EmergenceTwice, emergence_twice
from seedbank.science.sowing.two_sowings import Bed, Outlook, cheapest_rate, outlook, sowing_costs

GOOD_LOT = (0.80, 0.96)
"""Share alive of a good lot, its 90 % band; our choice."""
SPARE_CELLS = (1.0, 1.05, 1.1, 1.2, 1.3)
"""Cells sown for each plant wanted: the cheapest of these."""
MOST_OF_RELATIVE = 3.0
"""A kind without a printed rate gets at most so many times its nearest relative's."""
THICKER_FROM = 1.25
"""Times a good lot's rate; less is sown as usual. Our choice."""
_STEPS = (("usual", THICKER_FROM), ("little", 1.4), ("half", 1.7), ("nearly-twice", 2.0))
_AMPLE = 10.0  # sowings at the cap, for which a stock is no longer scarce
_SURE_FROM, _SURE_AT = 0.5, 0.8  # chance of being 80 % alive from, and at which, held to print
LIKELY_GOOD, _RATHER_GOOD, _HALF_A_CROP, _LITTLE_CROP = 0.8, 0.65, 0.5, 0.125


class Say(StrEnum):
    """What to say of a sowing."""

    SOW = "sow"
    SOW_TWICE = "sow-and-plan-again"
    TEST_FIRST = "test-first-or-fresh"
    NOT_WORTH_IT = "not-worth-the-bed"


@dataclass(frozen=True, slots=True)
class UsualRange:
    """Units a place, lowest and highest, and the most that practice allows."""

    low: float
    high: float
    most: float

    @property
    def middle(self) -> float:
        return math.sqrt(self.low * self.high)


@dataclass(frozen=True, slots=True)
class RateAdvice:
    """Units a place: usual, of a good lot before it is held to the usual range, and ``rate``.

    ``times`` is this lot beside a good one; ``capped`` says that the cap holds it back. ``bed`` is
    the sowing it was found for, its spare cells chosen.
    """

    usual: UsualRange
    good_lot: float
    times: float
    rate: float
    capped: bool
    bed: Bed
    outlook: Outlook
    say: Say

    @property
    def enough(self) -> bool:
        """Whether a good crop in the end is likely."""
        return self.outlook.good_end >= LIKELY_GOOD

    @property
    def usual_good(self) -> float:
        """What a good lot gets, held to the usual range."""
        return min(max(self.good_lot, self.usual.low), most_usual(self.bed.crop.way, self.usual))

    @property
    def thickness(self) -> float:
        """How thickly it is sown beside good seed (``thickness``)."""
        at_places = self.bed.crop.way in PLACES
        return float(thickness(self.rate, self.usual_good, self.usual.high, at_places))

    @property
    def units(self) -> int:
        """Units sown in all: whole, within cap and stock, at least one."""
        bed = self.bed
        most = bed.places * self.usual.most
        units = min(round(self.rate * bed.places), math.floor(most + 1e-9))
        return max(min(units, units if bed.stock is None else int(bed.stock)), 1)

    def at(self, rate: float) -> "RateAdvice":
        """The same sown at another rate."""
        expected = outlook(self.bed, rate)
        return replace(self, rate=rate, outlook=expected, say=say_of(expected))


@lru_cache(64)
def good_emergence(law: ShiftLaw, pest: BetaShare | None = None) -> EmergenceTwice:
    """What comes up of a good lot in a bed, kept for the next lot asked about. Not to be written
    to."""
    return emergence_twice(good_lot(), law, pest)


def good_lot() -> WeightedNodes:
    """A good lot's viability in probits."""
    low, high = scipy.special.ndtri(GOOD_LOT)
    sd = (high - low) / (2.0 * INTERVAL_REACH)
    point, weight = standard_normal_nodes(9)
    return WeightedNodes((low + high) / 2.0 + sd * point, weight)


def usual_range(way: str, low: float, high: float, *, pelleted: bool = False) -> UsualRange:
    """Units a place as printed, with the cap; pelleted seed goes one a place."""
    if pelleted:
        return UsualRange(1.0, 1.0, 1.0)
    if way not in PLACES:
        return UsualRange(low, high, 2.0 * math.sqrt(low * high))
    return UsualRange(low, high, math.ceil(high) + (2.0 if way == "station" else 1.0))


def range_by_good_lot(way: str, good: float, relative: UsualRange | None) -> UsualRange:
    """For a kind without a printed rate: what a good lot asks, not far above its relative's."""
    rate = good if relative is None else min(good, MOST_OF_RELATIVE * relative.middle)
    if way in PLACES:
        rate = float(max(round(rate), 1))
    return usual_range(way, rate, rate)


def advise_rate(
    bed: Bed,
    lot: WeightedNodes,
    good: EmergenceTwice,
    usual: UsualRange | None,
    relative: UsualRange | None = None,
    spare: Sequence[float] = (1.0,),
) -> RateAdvice:
    """The rate for a lot whose emergence in ``bed`` is ``bed.twice``, ``lot`` its probits alive.

    ``good`` is a good lot's emergence in the same bed; ``usual`` None where none is printed, and
    then ``relative`` may bound it. ``spare`` are cells a plant to choose among.
    """
    way = bed.crop.way
    asked = cheapest_rate(replace(bed, twice=good, stock=None, spare=1.0))
    usual = usual or range_by_good_lot(way, asked, relative)
    usual_good = min(max(asked, usual.low), most_usual(way, usual))
    beds = [replace(bed, spare=each) for each in spare]
    times = [_times(each, good, asked) for each in beds]
    rates = [
        _rate(usual, usual_good * each, lot, one) for each, one in zip(times, beds, strict=True)
    ]
    beds = [replace(each, most_rate=usual.most) for each in beds]
    costs = [
        float(sowing_costs(each, np.array([rate])).total[0])
        for each, rate in zip(beds, rates, strict=True)
    ]
    best = int(np.argmin(costs))
    expected = outlook(beds[best], rates[best])
    capped = usual_good * times[best] > usual.most + 1e-9
    return RateAdvice(
        usual, asked, times[best], rates[best], capped, beds[best], expected, say_of(expected)
    )


def _times(bed: Bed, good: EmergenceTwice, asked: float) -> float:
    """This lot's rate beside a good one's; a worse lot is never sown thinner, for all its doubt,
    and one of which not half a crop is to be expected goes as thickly as may be."""
    free = replace(bed, stock=None)
    times = cheapest_rate(free) / asked
    if times >= 1.0 or bed.twice.mean >= good.mean:
        return times
    return 1.0 if outlook(free, asked).crop >= _HALF_A_CROP else bed.most_rate / asked


def _rate(usual: UsualRange, rate: float, lot: WeightedNodes, bed: Bed) -> float:
    """Held to the usual range as surely as the lot is good, to the cap, whole at a place, and to
    what there is: of short seed some is kept for a second sowing, of a usual one never more than
    half."""
    held = float(share_held(lot.weight @ (lot.value >= scipy.special.ndtri(GOOD_LOT[0]))))
    inside = min(max(rate, usual.low), most_usual(bed.crop.way, usual))
    rate = min(held * inside + (1.0 - held) * rate, usual.most)
    if bed.stock is not None and bed.stock < _AMPLE * usual.most * bed.places:
        there = bed.stock / bed.places
        rate = min(rate, max(cheapest_rate(bed), min(usual.low, there / 2.0)))
    if bed.crop.way in PLACES:
        return float(max(round(rate), 1))
    return rate


def share_held(good_enough: ArrayLike) -> FloatArray:
    """How far a lot is held to the usual range, 0 to 1, by its chance of being 80 % alive."""
    surely = (np.asarray(good_enough, dtype=np.float64) - _SURE_FROM) / (_SURE_AT - _SURE_FROM)
    return np.clip(surely, 0.0, 1.0)


def thickness(
    rate: ArrayLike, good: ArrayLike, high: ArrayLike, at_places: ArrayLike
) -> FloatArray:
    """How thickly seed is sown beside good seed: the one measure of words such as "half as thick
    again". In a row, the ``rate`` over a good lot's; at stations and in cells over the most that is
    still usual, since there the printed range is of whole seeds."""
    each, base = np.asarray(rate, dtype=np.float64), np.asarray(good, dtype=np.float64)
    return each / np.where(at_places, np.maximum(np.asarray(high), np.round(base)), base)


def thickness_step(times: float) -> str:
    """How much thicker, as a step: ``usual``, ``little``, ``half`` as thick again,
    ``nearly-twice``, ``twice``. Our choice of steps."""
    for step, under in _STEPS:
        if times < under:
            return step
    return "twice"


def most_usual(way: str, usual: UsualRange) -> float:
    """The most that a good lot gets: in cells one more than is printed."""
    return usual.high + float(way == "cell" and usual.most > usual.high)


def say_of(expected: Outlook) -> Say:
    """What to say of a sowing with such an outlook."""
    if expected.crop < _LITTLE_CROP:
        return Say.NOT_WORTH_IT
    if expected.good_end < _RATHER_GOOD:
        return Say.TEST_FIRST
    if expected.good_end < LIKELY_GOOD or expected.again > 0.5:
        return Say.SOW_TWICE
    return Say.SOW
