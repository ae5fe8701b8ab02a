"""Beds, lots and gardens of known truth, in which ways of deciding how thickly to sow are played.

Lots, beds and gardens are those of ``decisions.md`` 1.7; a group's first two numbers are read as
the mean and spread of what is believed of its lots, the third as how far the truth lies from that.
The factors of carrot and of stations, which it leaves open, are those of the program: 0.64 and
0.70. What comes up is drawn seed by seed, in patches; every way may sow the gaps once more.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from scipy.special import ndtr

from seedbank.science.quantities import FloatArray
from seedbank.science.sowing.crop_filling import (
    GOOD_CROP,
    PLACES,
    PRICKED_OUT_TAKE,
    RHO_AT_A_PLACE,
    Crop,
)
from seedbank.science.sowing.emergence import (
    LEFT_BY_FAILURE,
    ShiftLaw,
    WeightedNodes,
    emergence_nodes,
    shift_of_factor,
)
from seedbank.science.sowing.emergence_twice import EmergenceTwice, emergence_twice
from seedbank.science.sowing.patches import NO_PATCHES, Patches
from seedbank.science.sowing.seed_need import smallest_seeds
from seedbank.science.sowing.sowing_costs import Prices
from seedbank.science.sowing.sowing_layout import places_filled
from seedbank.science.sowing.two_sowings import Bed, sowing_costs
from seedbank.science.sowing.usual_rate import SPARE_CELLS, advise_rate, good_lot, usual_range

# Share of all lots, mean and spread of what is believed (probits), sd of the truth about it.
LOTS = (
    (0.35, 1.5, 0.25, 0.55),
    (0.20, 1.2, 0.30, 0.28),
    (0.30, 0.75, 0.35, 0.80),
    (0.15, 0.10, 0.40, 0.30),
)
PATCHES = Patches(0.06, 20)


@dataclass(frozen=True)
class BedOf:
    """Plants wanted, the kind's factor, usual rate and rate by feel in units a place; prices fixed
    here, whatever the program's own become."""

    name: str
    way: str
    wanted: int
    factor: float
    low: float
    high: float
    feel: float
    prices: Prices

    @property
    def cover(self) -> bool:
        return self.way == "cell"

    @property
    def crop(self) -> Crop:
        patches = NO_PATCHES if self.way in PLACES else PATCHES
        return Crop(self.way, self.wanted, patches, self.way == "cell")


BEDS = (
    BedOf("carrot", "drilled", 40, 0.64, 2.45, 7.85, 5.0, Prices(0.004, 0.02, 0.0, 2.4, 0.30)),
    BedOf("beet", "spaced", 60, 0.80, 1.0, 2.45, 5.0, Prices(0.004, 0.03, 0.0, 3.6, 0.30)),
    BedOf("stations", "station", 12, 0.70, 2.0, 3.0, 3.0, Prices(0.004, 0.03, 0.0, 0.36, 0.35)),
    BedOf("cells", "cell", 40, 0.95, 1.0, 2.0, 2.0, Prices(0.004, 0.05, 0.03, 1.6, 0.25)),
    BedOf("beans", "to-stand", 40, 0.85, 1.0, 1.3, 1.5, Prices(0.02, 0.02, 0.0, 2.4, 0.30)),
)


@dataclass(frozen=True)
class Spreads:
    garden: float
    kind: float
    season: float
    sowing: float
    failure: float

    def law(self, mean: float) -> ShiftLaw:
        parts = (self.garden, self.kind, self.season, self.sowing)
        return ShiftLaw(mean, float(np.hypot.reduce(parts)), self.failure, self.sowing)


@dataclass(frozen=True)
class World:
    open: Spreads
    cover: Spreads
    factor: float = 1.0

    def law(self, bed: BedOf) -> ShiftLaw:
        mean = float(shift_of_factor(min(bed.factor * self.factor, 0.97)))
        return (self.cover if bed.cover else self.open).law(mean)


_KIND, _HARSH = Spreads(0.10, 0.10, 0.10, 0.15, 0.03), Spreads(0.20, 0.15, 0.20, 0.30, 0.15)
OWN = World(Spreads(0.25, 0.20, 0.15, 0.25, 0.08), Spreads(0.20, 0.15, 0.05, 0.20, 0.03))
WIDE = World(Spreads(0.45, 0.45, 0.20, 0.30, 0.0), Spreads(0.30, 0.25, 0.20, 0.30, 0.0))
WORLDS = {
    "own": OWN,
    "wide": WIDE,
    "kind": World(_KIND, _KIND, 1.15),
    "harsh": World(_HARSH, _HARSH, 0.7),
}


@dataclass(frozen=True)
class Decision:
    """Units a place, cells a plant, the count below which the gaps are sown again, and how."""

    rate: float
    spare: float
    trigger: float
    again: float


@dataclass(frozen=True)
class Lot:
    """What is believed of a lot (mean, sd in probits), and how alive it is."""

    mean: float
    sd: float
    truth: float

    @property
    def nodes(self) -> WeightedNodes:
        point, weight = np.polynomial.hermite_e.hermegauss(15)
        return WeightedNodes(self.mean + self.sd * point, weight / weight.sum())


def draw_lot(rng: np.random.Generator) -> Lot:
    group = LOTS[int(np.searchsorted(np.cumsum([one[0] for one in LOTS]), rng.random()))]
    mean = rng.normal(group[1], group[2])
    return Lot(mean, group[3], rng.normal(mean, group[3]))


def _bed(bed: BedOf, lot: Lot) -> Bed:
    return Bed(emergence_twice(lot.nodes, OWN.law(bed)), bed.crop, bed.prices)


def by_rule(bed: BedOf, lot: Lot) -> Decision:
    """The program's: usual, times what the lot changes, within the cap."""
    good = emergence_twice(good_lot(), OWN.law(bed))
    spare = SPARE_CELLS if bed.cover else (1.0,)
    usual = usual_range(bed.way, bed.low, bed.high)
    found = advise_rate(_bed(bed, lot), lot.nodes, good, usual, None, spare)
    expected = found.outlook
    return Decision(found.rate, found.bed.spare, expected.trigger, expected.again_rate)


def _fixed(bed: BedOf, lot: Lot, rate: float) -> Decision:
    """One rate for both sowings, the gaps sown again where that pays."""
    known = replace(_bed(bed, lot), most_rate=rate, again_times=(1.0,))
    costs = sowing_costs(known, np.array([rate]))
    return Decision(rate, 1.0, float(costs.trigger[0]), rate)


def by_feel(bed: BedOf, lot: Lot) -> Decision:
    return _fixed(bed, lot, bed.feel)


def as_printed(bed: BedOf, lot: Lot) -> Decision:
    middle = float(np.sqrt(bed.low * bed.high))
    return _fixed(bed, lot, float(round(middle)) if bed.way in PLACES else middle)


def for_nine_in_ten(bed: BedOf, lot: Lot) -> Decision:
    """The smallest rate that gives the plants nine times in ten, by the wide spreads of old."""
    known = emergence_nodes(lot.nodes, WIDE.law(bed))
    if bed.way in PLACES:
        rho, enough = RHO_AT_A_PLACE[bed.way], int(np.ceil(0.95 * bed.wanted))
        each = 1
        while each < 40 and places_filled(known, bed.wanted, each, enough, rho) < 0.9:
            each += 1
        return _fixed(bed, lot, float(each))
    most = 40 * bed.wanted
    seeds = smallest_seeds(known, bed.wanted, 0.9, PATCHES, most) or most
    return _fixed(bed, lot, seeds / bed.wanted)


def by_oracle(bed: BedOf, first: float, second: float) -> Decision:
    """Knowing what share will come up of either sowing."""
    value = np.array(sorted((first, second))) + np.array([0.0, 1e-9])
    joint = np.zeros((2, 2))
    joint[(0, 1) if first <= second else (1, 0)] = 1.0
    known = EmergenceTwice(value, joint)
    best: tuple[float, Decision] | None = None
    for spare in SPARE_CELLS if bed.cover else (1.0,):
        rates = np.arange(1.0, 20.0) if bed.way in PLACES else np.geomspace(0.5, 24.0, 35)
        costs = sowing_costs(Bed(known, bed.crop, bed.prices, spare=spare), rates)
        at = int(np.argmin(costs.total))
        found = Decision(
            float(rates[at]), spare, float(costs.trigger[at]), float(costs.again_rate[at])
        )
        if best is None or costs.total[at] < best[0]:
            best = float(costs.total[at]), found
    assert best is not None
    return best[1]


@dataclass(frozen=True)
class Season:
    """The chance of one seed in the first and the second sowing of a lot in a garden."""

    first: float
    second: float


def draw_season(world: World, bed: BedOf, lot: Lot, draws: tuple[FloatArray, FloatArray]) -> Season:
    """``draws`` are five standard normals and two uniforms, the same in every world."""
    normal, uniform = draws
    spread = world.cover if bed.cover else world.open
    law = world.law(bed)
    shared = law.mean + float(normal[:3] @ [spread.garden, spread.kind, spread.season])
    shift = np.maximum(shared + spread.sowing * normal[3:], 0.0)
    left = np.where(uniform < spread.failure, LEFT_BY_FAILURE, 1.0)
    first, second = (left * ndtr(lot.truth - shift)).tolist()
    return Season(first, second)


@dataclass(frozen=True)
class Played:
    """Of one sowing: cost and seeds a plant wanted, a good crop in the end."""

    cost: float
    seeds: float
    good: bool
    again: bool


def _clumped(rng: np.random.Generator, units: int, chance: float, rho: float) -> int:
    scale = (1.0 - rho) / rho
    share = rng.beta(max(chance * scale, 1e-9), max((1.0 - chance) * scale, 1e-9))
    return int(rng.binomial(units, share))


def _sow(
    rng: np.random.Generator, bed: BedOf, wanted: int, decision: Decision, chance: float
) -> tuple[int, float, float]:
    """Seeds, share of the places filled, and seedlings too many."""
    if bed.way not in PLACES:
        seeds = max(round(decision.rate * wanted), 1)
        size = PATCHES.units or seeds
        patches = [min(size, seeds - start) for start in range(0, seeds, size)]
        up = sum(_clumped(rng, units, chance, PATCHES.rho) for units in patches)
        crop = Crop(bed.way, wanted)
        filled = float(crop.filled(np.array(up / wanted), np.array(seeds / wanted)))
        return seeds, filled, max(up - wanted * filled, 0.0)
    each = [int(decision.rate)] * round(wanted * decision.spare)
    more = decision.rate - int(decision.rate)
    each = [units + int(rng.random() < more) for units in each]
    up_at = [_clumped(rng, n, chance, RHO_AT_A_PLACE[bed.way]) for n in each]
    full = sum(n > 0 for n in up_at)
    surplus = float(sum(up_at) - full)
    if bed.way == "cell":
        moved = int(min(max(wanted - full, 0), PRICKED_OUT_TAKE * surplus))
        full, surplus = full + moved, surplus - moved
    return sum(each), min(full / wanted, 1.0), surplus + max(full - wanted, 0)


def play(rng: np.random.Generator, bed: BedOf, decision: Decision, season: Season) -> Played:
    """Sow, count, sow the gaps again below the trigger; what it cost, a plant wanted."""
    wanted, crop, prices = bed.wanted, bed.crop, bed.prices
    seeds, filled, surplus = _sow(rng, bed, wanted, decision, season.first)
    cost = prices.seed * seeds + prices.thinning * surplus
    cost += prices.cell * round(wanted * decision.spare) * bed.cover
    cost += wanted * (1.0 - float(crop.crop(filled)))
    again = filled * wanted < decision.trigger - 1e-9
    end = filled
    if again:
        gaps = max(round(wanted * (1.0 - filled)), 1)
        second = replace(decision, rate=decision.again, spare=1.0)
        more, filled_again, too_many = _sow(rng, bed, gaps, second, season.second)
        end = filled + (1.0 - filled) * filled_again
        gained = wanted * float(crop.crop(end) - crop.crop(filled))
        cost += prices.work + prices.seed * more + prices.thinning * too_many
        cost += prices.cell * gaps * bed.cover - (1.0 - prices.delay) * gained
        seeds += more
    good = float(crop.crop(end)) >= GOOD_CROP
    return Played(cost / wanted, seeds / wanted, good, again)


RULES = {"rule": by_rule, "feel": by_feel, "printed": as_printed, "nine in ten": for_nine_in_ten}


def simulate(
    lots: int, worlds: Sequence[str] = tuple(WORLDS)
) -> tuple[dict[tuple[str, str, str], list[Played]], dict[str, list[Lot]]]:
    """What each way of deciding came to, by way, world and bed; and the lots, by bed."""
    found: dict[tuple[str, str, str], list[Played]] = {}
    drawn: dict[str, list[Lot]] = {}
    for at, bed in enumerate(BEDS):
        rng = np.random.default_rng([20261130, at])
        for number in range(lots):
            lot = draw_lot(rng)
            drawn.setdefault(bed.name, []).append(lot)
            draws = rng.normal(size=5), rng.random(2)
            decided = {name: decide(bed, lot) for name, decide in RULES.items()}
            for world in worlds:
                season = draw_season(WORLDS[world], bed, lot, draws)
                oracle = by_oracle(bed, season.first, season.second)
                for name, decision in {**decided, "oracle": oracle}.items():
                    luck = np.random.default_rng([at, number])
                    one = play(luck, bed, decision, season)
                    found.setdefault((name, world, bed.name), []).append(one)
    return found, drawn
