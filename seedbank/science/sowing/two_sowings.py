"""What a sowing costs, a second sowing of its gaps counted in, and the rate that costs least.

    cost(k) = seed + surplus x thinning + E[ min over {leave it, sow the gaps again} ]

with k units a place (``crop_filling``), prices in plants (``sowing_costs``) and both sowings' luck
from ``emergence_twice``. Whether to sow again rests on the count that is seen: what it tells of the
second sowing is carried by the joint law. The count below which sowing again costs less is the
trigger, never above the plants wanted. Counts are all summed under 12 plants wanted; above that
they are taken as normal about each chance.

Source: preposterior analysis, H. Raiffa & R. Schlaifer, Applied Statistical Decision Theory (1961),
from memory.

Outside checks: costs, triggers and chances against seed-by-seed simulation; and the benchmark
``tests/benchmarks/test_sowing_rates``, in gardens unlike the ones believed in.
"""

import math
from dataclasses import dataclass

import numpy as np
import scipy

from seedbank.science.binomial import binomial_pmf
from seedbank.science.quantities import FloatArray, standard_normal_nodes
from seedbank.science.sowing.crop_filling import GOOD_CROP, PLACES, PRICKED_OUT_TAKE, Crop
from seedbank.science.sowing.emergence_twice import EmergenceTwice
from seedbank.science.sowing.plant_counts import plants_given
from seedbank.science.sowing.sowing_costs import Prices

EXACT_BELOW = 12
_BINS, _NOISE = 41, 7
_LEAST_RATE = 0.25  # units a place of a row that are looked at
_MOST_SEEN = 2.5  # seedlings a place; more than that are never too few
_COARSE, _FINE = 1.5, 1.12  # steps in which the cheapest rate is looked for, and about it
_THIRD = float(np.sqrt(3.0))  # the outer points of Gauss's rule of three for a normal
_POINT, _WEIGHT = standard_normal_nodes(_NOISE)


@dataclass(frozen=True, slots=True)
class Bed:
    """A crop, what is known of coming up, prices; units that may be spent (None: no end of them).

    ``most_rate`` bounds the units a place of either sowing; ``spare`` is cells a plant wanted.
    ``again_times`` are rates of the second sowing beside the first's: the best of them is taken.
    """

    twice: EmergenceTwice
    crop: Crop
    prices: Prices
    stock: float | None = None
    most_rate: float = 24.0
    spare: float = 1.0
    again_times: tuple[float, ...] = (1.0, 1.5, 2.0)

    @property
    def places(self) -> int:
        """Stations, or cells, sown."""
        return round(self.spare * self.crop.wanted)


@dataclass(frozen=True, slots=True)
class Costs:
    """By rate (R,): cost of sowing once, what a second sowing saves, the trigger in places filled
    (0: never), the chance of sowing again, and the rate of the second sowing there."""

    once: FloatArray
    saved: FloatArray
    trigger: FloatArray
    again: FloatArray
    again_rate: FloatArray

    @property
    def total(self) -> FloatArray:
        return np.asarray(self.once - self.saved)


@dataclass(frozen=True, slots=True)
class _Counts:
    """What may be seen of a first sowing, at each rate, chance and count (R, E, Z): as a share of
    the plants wanted, its probability, the share of places filled, seedlings too many."""

    seen: FloatArray
    weight: FloatArray
    filled: FloatArray
    surplus: FloatArray


def sowing_costs(bed: Bed, rates: FloatArray) -> Costs:
    """Costs at each of the ``rates`` (R,), units a place, above 0."""
    rate = np.asarray(rates, dtype=np.float64)
    crop, prices, wanted = bed.crop, bed.prices, bed.crop.wanted
    counts = _counts(bed, rate)
    units = _units(bed, rate)
    mass = counts.weight * bed.twice.weight[None, :, None]
    missing = wanted * (1.0 - crop.crop(counts.filled)) + prices.thinning * counts.surplus
    cells = prices.cell * bed.places if crop.way == "cell" else 0.0
    once = prices.of_seed(units, bed.stock) + cells + np.einsum("rez,rez->r", mass, missing)
    knot = _knots(crop)
    likelihood = _binned(counts, knot)
    joint = likelihood @ bed.twice.joint
    worth, again_rate = _worth_of_again(bed, rate, units, knot, joint)
    saved = np.maximum(worth, 0.0).sum(axis=1)
    again = np.where(worth > 0.0, joint.sum(axis=2), 0.0).sum(axis=1)
    last = np.maximum(knot.size - 1 - np.argmax(worth[:, ::-1] > 0.0, axis=1), 0)
    row = np.arange(rate.size)
    here: FloatArray = np.where(worth.max(axis=1) > 0.0, _crossing(worth, knot, last), 0.0)
    trigger = np.asarray(here if crop.way in PLACES else crop.filled(here, rate))
    return Costs(once, saved, trigger * wanted, again, again_rate[row, last])


def _knots(crop: Crop) -> FloatArray:
    """Where what is seen is looked at: each count of few plants wanted."""
    most = 1.0 if crop.way in PLACES else _MOST_SEEN
    few = crop.wanted < EXACT_BELOW
    counts = math.ceil(most * crop.wanted)
    return np.arange(counts + 1.0) / crop.wanted if few else np.linspace(0.0, most, _BINS)


def _crossing(worth: FloatArray, knot: FloatArray, last: FloatArray) -> FloatArray:
    """Where sowing again ceases to pay, beyond the ``last`` knot at which it does."""
    row, after = np.arange(worth.shape[0]), np.minimum(last + 1, knot.size - 1)
    above, below = worth[row, last], np.maximum(-worth[row, after], 0.0)
    part = np.divide(above, above + below, out=np.ones_like(above), where=above + below > 0.0)
    return np.asarray(knot[last] + part * (knot[after] - knot[last]))


def _units(bed: Bed, rate: FloatArray) -> FloatArray:
    """Units of the first sowing; whole ones where every count is summed."""
    if bed.crop.way in PLACES:
        return np.asarray(rate * bed.places)
    units = rate * bed.crop.wanted
    return np.asarray(np.round(units) if bed.crop.wanted < EXACT_BELOW else units)


def _counts(bed: Bed, rate: FloatArray) -> _Counts:
    """All that may be seen of the first sowing."""
    crop, wanted, chance = bed.crop, bed.crop.wanted, bed.twice.value
    if crop.way not in PLACES:
        seedlings, weight = _row_counts(bed, rate)
        x = seedlings / wanted
        filled = crop.filled(x, rate[:, None, None])
        return _Counts(x, weight, filled, wanted * np.maximum(x - filled, 0.0))
    come = np.minimum(crop.place_filled(chance, rate[:, None]), 1.0)
    if wanted < EXACT_BELOW:
        plants = np.arange(bed.places + 1.0)
        weight = binomial_pmf(plants, bed.places, come[..., None])
    else:
        spread = np.sqrt(bed.places * come * (1.0 - come))
        plants = np.clip((bed.places * come)[..., None] + spread[..., None] * _POINT, 0, bed.places)
        weight = np.broadcast_to(_WEIGHT, plants.shape)
    full = np.broadcast_to(plants, weight.shape)
    more = np.maximum((rate[:, None] * chance * bed.places)[..., None] - full, 0.0)
    if crop.pricked_out:
        moved = np.minimum(np.maximum(wanted - full, 0.0), PRICKED_OUT_TAKE * more)
        full, more = full + moved, more - moved
    share = np.minimum(full / wanted, 1.0)
    return _Counts(share, weight, share, more + np.maximum(full - wanted, 0.0))


def _row_counts(bed: Bed, rate: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Seedlings of a row (R, E, Z) and their probabilities."""
    chance, crop = bed.twice.value, bed.crop
    units = _units(bed, rate)
    if crop.wanted < EXACT_BELOW:
        most = int(units.max())
        weight = np.zeros((rate.size, chance.size, most + 1))
        for at, sown in enumerate(units.astype(int).tolist()):
            weight[at, :, : sown + 1] = plants_given(chance, sown, crop.patches)
        return np.broadcast_to(np.arange(most + 1.0), weight.shape), weight
    variance = units[:, None] * chance * (1.0 - chance) * crop.patches.inflation(units)[:, None]
    mean = (units[:, None] * chance)[..., None]
    seedlings = np.clip(mean + np.sqrt(variance)[..., None] * _POINT, 0.0, units[:, None, None])
    return seedlings, np.broadcast_to(_WEIGHT, seedlings.shape)


def _binned(counts: _Counts, knot: FloatArray) -> FloatArray:
    """P(what is seen lies at each knot), shared out between neighbours: (R, B, E).

    What fills the crop goes to none: it is never sown again.
    """
    place = counts.seen * ((knot.size - 1) / knot[-1])
    low = np.minimum(place.astype(np.int64), knot.size - 1)
    part = place - low
    weight = np.where(counts.seen < knot[-1], counts.weight, 0.0)
    r, e, _ = place.shape
    row = np.arange(r)[:, None, None] * knot.size
    column = np.arange(e)[None, :, None]
    size = r * knot.size * e
    found = np.bincount(((row + low) * e + column).ravel(), (weight * (1.0 - part)).ravel(), size)
    high = np.minimum(low + 1, knot.size - 1)
    found += np.bincount(((row + high) * e + column).ravel(), (weight * part).ravel(), size)
    return np.asarray(found.reshape(r, knot.size, e))


def _worth_of_again(
    bed: Bed, rate: FloatArray, units: FloatArray, knot: FloatArray, joint: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """What sowing the gaps again saves at each rate and knot, times the chance of being there
    (R, B), and at what rate (R, B)."""
    crop, prices, wanted, chance = bed.crop, bed.prices, bed.crop.wanted, bed.twice.value
    filled = knot if crop.way in PLACES else crop.filled(knot[None, :], rate[:, None])
    filled = np.broadcast_to(filled, (rate.size, knot.size))
    gaps = wanted * (1.0 - filled)
    best = np.full(filled.shape, -np.inf)
    at_rate = np.zeros(filled.shape)
    mass = joint.sum(axis=2)
    for times in bed.again_times:
        again = np.minimum(times * rate[:, None], bed.most_rate)
        left = None if bed.stock is None else np.maximum(bed.stock - units, 0.0)[:, None]
        if left is not None and np.any(left < again * wanted):
            again = np.minimum(again, left / np.maximum(gaps, 1e-9))
        come = filled_again(crop, again[..., None], chance, gaps[..., None])
        gained = crop.crop(filled[..., None] + (1.0 - filled[..., None]) * come)
        gained = wanted * (gained - crop.crop(filled)[..., None])
        many = np.maximum(again[..., None] * chance - come, 0.0) * gaps[..., None]
        each = (1.0 - prices.delay) * gained - prices.thinning * many
        seed = _seed_again(prices, again * gaps, bed.stock, left)
        cell = prices.cell * gaps
        saved = np.einsum("rbe,rbe->rb", joint, each) - mass * (prices.work + seed + cell)
        better = saved > best
        best, at_rate = np.where(better, saved, best), np.where(better, again, at_rate)
    full = filled >= 1.0 - 1e-9
    return np.where(full, np.minimum(best, 0.0), best), at_rate


def _seed_again(
    prices: Prices, units: FloatArray, stock: float | None, left: FloatArray | None
) -> FloatArray:
    if stock is None or left is None:
        return prices.seed * units
    rest = np.maximum(left - units, 0.0)
    return np.asarray(prices.seed * (stock + 1.0) * np.log((left + 1.0) / (rest + 1.0)))


def filled_again(crop: Crop, rate: FloatArray, chance: FloatArray, gaps: FloatArray) -> FloatArray:
    """Share of so many ``gaps`` that a second sowing of ``rate`` units each fills, on the mean."""
    if crop.way in PLACES:
        return crop.place_filled(chance, rate)
    mean = rate * chance
    clump = crop.patches.inflation(np.maximum(rate * gaps, 1.0))
    spread = np.sqrt(mean * (1.0 - chance) * clump / np.maximum(gaps, 1.0))
    filled = np.zeros(np.broadcast_shapes(mean.shape, spread.shape))
    for point, weight in ((-_THIRD, 1.0 / 6.0), (0.0, 2.0 / 3.0), (_THIRD, 1.0 / 6.0)):
        filled += weight * crop.filled(np.maximum(mean + point * spread, 0.0), rate)
    return filled


def cheapest_rate(bed: Bed) -> float:
    """The rate with least cost, units a place, not rounded; never above ``bed.most_rate`` or the
    stock. Between the rates tried the cost is taken as a parabola in the rate's logarithm."""
    least = 1.0 if bed.crop.way in PLACES else _LEAST_RATE
    most = bed.most_rate
    if bed.stock is not None:
        most = min(most, bed.stock / bed.places)
    if most <= least:
        return most
    tried = np.geomspace(least, most, max(int(np.log(most / least) / np.log(_COARSE)) + 2, 3))
    at = int(np.argmin(sowing_costs(bed, tried).total))
    near = tried[max(at - 1, 0)], tried[min(at + 1, tried.size - 1)]
    tried = np.geomspace(*near, max(int(np.log(near[1] / near[0]) / np.log(_FINE)) + 2, 3))
    cost = sowing_costs(bed, tried).total
    at = int(np.argmin(cost))
    if at in (0, tried.size - 1):
        return float(tried[at])
    before, here, after = cost[at - 1 : at + 2].tolist()
    bend = before - 2.0 * here + after
    step = 0.5 * (before - after) / bend if bend > 0.0 else 0.0
    return float(tried[at] * (tried[at] / tried[at - 1]) ** step)


@dataclass(frozen=True, slots=True)
class Outlook:
    """Of one rate: expected cost in plants; chance of a good crop from the first sowing and in the
    end; chance of sowing again, below how many ``trigger`` plants seen, and at what rate then;
    expected crop in the end, as a share of a full one."""

    cost: float
    good_first: float
    good_end: float
    again: float
    trigger: float
    again_rate: float
    crop: float


def outlook(bed: Bed, rate: float) -> Outlook:
    """What to expect of sowing at one rate and, below the trigger, sowing the gaps again."""
    rates = np.array([rate])
    costs, counts = sowing_costs(bed, rates), _counts(bed, rates)
    crop, chance = bed.crop, bed.twice.value
    weight, filled = counts.weight[0], counts.filled[0]
    again = filled * crop.wanted < costs.trigger[0] - 1e-9
    gaps = np.array(max(crop.wanted - 0.8 * costs.trigger[0], 1.0))  # of about so many
    come = filled_again(crop, costs.again_rate[:1], chance, gaps)
    given = bed.twice.joint / np.maximum(bed.twice.weight, 1e-300)[:, None]
    mass = weight * bed.twice.weight[:, None]
    need = (_filled_for(crop) - filled) / np.maximum(1.0 - filled, 1e-9)  # of the gaps
    spread = np.sqrt(np.maximum(come * (1.0 - np.minimum(come, 1.0)), 1e-4) / crop.wanted * 2.0)
    reach = scipy.special.ndtr((come[None, None, :] - need[..., None]) / spread)
    end = np.where(again, np.einsum("ej,ezj->ez", given, reach), 0.0)
    good = crop.crop(filled) >= GOOD_CROP
    after = crop.crop(filled[..., None] + (1.0 - filled[..., None]) * come)
    grown = np.where(again, np.einsum("ej,ezj->ez", given, after), crop.crop(filled))
    return Outlook(
        float(costs.total[0]),
        float(np.sum(mass * good)),
        float(np.sum(mass * np.where(good, 1.0, end))),
        float(np.sum(mass * again)),
        float(costs.trigger[0]),
        float(costs.again_rate[0]),
        float(np.sum(mass * grown)),
    )


def _filled_for(crop: Crop) -> float:
    """Share of the places that a good crop needs."""
    more = float(crop.crop(0.5))  # (1 + h) / (2 + h)
    h = (2.0 * more - 1.0) / (1.0 - more)
    return GOOD_CROP / (1.0 + h - GOOD_CROP * h)
