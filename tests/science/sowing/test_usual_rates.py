"""Advised rates beside printed ones, before they are held to the print and after, and the cases an
independent prototype worked out.
"""

import math
from dataclasses import dataclass

import numpy as np
import pytest
from scipy.special import ndtri

from seedbank.emergence.tables import SowingMethod
from seedbank.facts.field_factors import published_shift_prior
from seedbank.facts.kinds import kind_facts
from seedbank.facts.names import resolve
from seedbank.facts.seeding_rates import PrintedRate, printed_rates
from seedbank.science.sowing.crop_filling import PLACES, Crop
from seedbank.science.sowing.emergence import ShiftLaw, WeightedNodes, shift_of_factor
from seedbank.science.sowing.emergence_twice import emergence_twice
from seedbank.science.sowing.field_shift_prior import (
    FAILURE,
    GARDEN_SD,
    SEASON_SD,
    SOWING_SD,
    SowingConditions,
    share_of,
)
from seedbank.science.sowing.patches import NO_PATCHES, Patches
from seedbank.science.sowing.sowing_costs import usual_prices
from seedbank.science.sowing.two_sowings import Bed
from seedbank.science.sowing.usual_rate import (
    SPARE_CELLS,
    RateAdvice,
    Say,
    advise_rate,
    good_lot,
    usual_range,
)
from seedbank.sowing.sowing_rate import SeedToSow, SowingPlace

_WIDEST_CM = 40.0  # a row thinned to more is a seedbed for planting out, or sown at stations


def lot(mean: float, sd: float) -> WeightedNodes:
    point, weight = np.polynomial.hermite_e.hermegauss(15)
    return WeightedNodes(mean + sd * point, weight / weight.sum())


def shift_of(slug: str, method: str) -> ShiftLaw:
    """A fair seedbed, nothing of one's own learned."""
    where = "indoors" if method == "module" else "open"
    conditions = SowingConditions(slug, method, where, 2027, "spring")
    prior = published_shift_prior()
    own = SOWING_SD * share_of("sowing", conditions)
    parts = (
        GARDEN_SD[conditions.medium],
        prior.kind_offset(slug).sd * share_of("kind", conditions),
        SEASON_SD * share_of("season", conditions),
        own,
    )
    failure = FAILURE["cover" if method == "module" else "open"]
    return ShiftLaw(prior.published_shift(conditions), float(np.hypot.reduce(parts)), failure, own)


def comparable(rate: PrintedRate) -> bool:
    """Whether the print says for what spacing it is, or how many go to one plant."""
    if rate.method == "module":
        return rate.thinned  # several plants a cell are another crop
    if rate.method == "station":
        return rate.spacing_cm is not None and rate.spacing_cm[0] <= 100.0  # not hills of several
    return rate.spacing_cm is not None and math.sqrt(math.prod(rate.spacing_cm)) <= _WIDEST_CM


ROWS = [
    (slug, rate)
    for rate in printed_rates()
    if comparable(rate)
    for slug, (basis, _) in resolve("seeding_rates", rate.kind).items()
    if basis == "own"
]


def advised(slug: str, rate: PrintedRate, viability: WeightedNodes) -> tuple[RateAdvice, float]:
    """For fresh seed in a fair bed, and how many places the print's unit has."""
    facts = kind_facts(slug)
    spacing = 20.0 if rate.spacing_cm is None else math.sqrt(math.prod(rate.spacing_cm))
    method = SowingMethod(rate.method)
    place = SowingPlace(
        facts, method, spacing, shift_of(slug, rate.method), patches=Patches(0.06, 20)
    )
    return place.advise(SeedToSow(viability), 40), place.places_a_unit


def test_before_the_clip_a_good_lots_rate_lies_by_the_printed_one() -> None:
    """Each kind is held against what the other kinds would have had the constants set to."""
    errors = {}
    for slug, rate in ROWS:
        found, each = advised(slug, rate, good_lot())
        middle = math.sqrt(rate.low * rate.high)
        errors.setdefault(slug, []).append(math.log(found.good_lot * each / middle))
        print(
            f"{slug:18} {rate.method:8} printed {rate.low:g} to {rate.high:g}, before the clip "
            f"{found.good_lot * each:.1f}, after {found.rate * each:.1f}"
        )
    left_out = []
    for slug, own in errors.items():
        others = [error for other, each in errors.items() if other != slug for error in each]
        left_out += [error - float(np.mean(others)) for error in own]
    within = np.mean(np.abs(left_out) <= math.log(2.0))
    whole = np.array([error for each in errors.values() for error in each])
    print(
        f"{whole.size} rows of {len(errors)} kinds: mean log {whole.mean():+.3f}, scatter "
        f"{whole.std():.2f}, within a factor of two {np.mean(abs(whole) <= math.log(2)):.2f}; each "
        f"kind left out: mean log {np.mean(left_out):+.3f}, within {within:.2f}"
    )
    assert whole.size > 60
    assert len(errors) > 20
    assert abs(whole.mean()) <= 0.15
    assert abs(np.mean(left_out)) <= 0.15
    assert within >= 0.85


@pytest.mark.parametrize(("slug", "rate"), ROWS[::3], ids=lambda one: str(one)[:30])
def test_after_the_clip_good_lots_are_inside_and_older_seed_is_thicker(
    slug: str, rate: PrintedRate
) -> None:
    tested, _ = advised(slug, rate, lot(float(ndtri(0.90)), 0.2))
    usual, cell = tested.usual, tested.bed.crop.way == "cell"
    rates = [tested.rate]
    assert usual.low - 1e-9 <= tested.rate <= usual.high + cell + 1e-9
    for mean, sd in ((0.75, 0.8), (0.1, 0.4), (-0.6, 0.4), (-1.5, 0.4)):
        found, _ = advised(slug, rate, lot(mean, sd))
        assert found.rate <= usual.most + 1e-9
        rates.append(found.rate)
    assert np.all(np.diff(rates) >= -0.01 * rates[0])


@dataclass(frozen=True)
class Case:
    """A question, and what the prototype answered; ``say`` is ours where ``ours`` is given."""

    name: str
    way: str
    wanted: int
    spacing_cm: float
    usual: tuple[float, float]
    seed: WeightedNodes
    factor: float
    rate: float
    say: Say
    stock: int | None = None
    price: str = "fine"


FRESH, OLD = lot(1.3, 0.55), lot(0.6, 0.8)
CASES = (
    Case("carrot 45 of 50", "drilled", 40, 5, (49, 157), lot(1.24, 0.22), 0.64, 105, Say.SOW),
    Case("carrot fresh", "drilled", 40, 5, (49, 157), FRESH, 0.64, 115, Say.SOW),
    Case("carrot 2.5 years", "drilled", 40, 5, (49, 157), OLD, 0.64, 175, Say.SOW),
    Case("carrot 10 of 20", "drilled", 40, 5, (49, 157), lot(0.0, 0.28), 0.64, 175, Say.SOW_TWICE),
    Case("parsnip 2024", "station", 60, 15, (2, 3), lot(0.2, 0.8), 0.7, 5, Say.TEST_FIRST),
    Case("squash", "station", 4, 90, (2, 3), lot(1.0, 0.7), 0.7, 3, Say.SOW_TWICE, 44, "large"),
    Case("lettuce, pelleted", "cell", 300, 25, (1, 1), FRESH, 0.95, 1, Say.SOW),
    Case("beet fresh", "spaced", 500, 5, (20, 49), lot(1.0, 0.55), 0.8, 48, Say.SOW),
    Case("spinach fresh", "spaced", 100, 2, (39, 92), FRESH, 0.7, 92, Say.SOW),
    Case("broad bean", "to-stand", 40, 20, (5, 7), lot(1.0, 0.5), 0.85, 7, Say.SOW, 110, "large"),
)


def answer(case: Case) -> RateAdvice:
    cover = case.way == "cell"
    law = ShiftLaw(float(shift_of_factor(case.factor)), 0.43, 0.08, 0.25)
    if cover:
        law = ShiftLaw(law.mean, 0.32, 0.03, 0.20)
    each = 1.0 if case.way in PLACES else case.spacing_cm / 100.0
    patches = NO_PATCHES if case.way in PLACES else Patches(0.06, 20)
    bed = Bed(
        emergence_twice(case.seed, law),
        Crop(case.way, case.wanted, patches, cover),
        usual_prices(case.way, case.wanted, case.price, cluster=case.name.startswith("beet")),
        case.stock,
    )
    low, high = (each * one for one in case.usual)
    usual = usual_range(case.way, low, high, pelleted="pelleted" in case.name)
    good = emergence_twice(good_lot(), law)
    return advise_rate(bed, case.seed, good, usual, None, SPARE_CELLS if cover else (1.0,))


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.name)
def test_the_cases_of_a_prototype_come_out_alike(case: Case) -> None:
    found = answer(case)
    each = 1.0 if case.way in PLACES else case.spacing_cm / 100.0
    outlook = found.outlook
    print(
        f"{case.name}: {found.rate / each:.0f} for {case.rate:g}, x {found.times:.2f}, first "
        f"{outlook.good_first:.2f}, end {outlook.good_end:.2f}, again {outlook.again:.2f} below "
        f"{outlook.trigger:.1f}, {found.say}"
    )
    assert found.rate / each == pytest.approx(case.rate, rel=0.15)
    assert found.say is case.say
    assert found.rate <= found.usual.most


def test_short_stock_is_held_back_for_a_second_sowing() -> None:
    for failure in (0.0, 0.1, 0.25, 0.5):
        law = ShiftLaw(float(shift_of_factor(0.7)), 0.43, failure, 0.25)
        bed = Bed(
            emergence_twice(FRESH, law), Crop("station", 6), usual_prices("station", 6, "large"), 24
        )
        found = advise_rate(
            bed, FRESH, emergence_twice(good_lot(), law), usual_range("station", 2, 3)
        )
        assert found.units == 12, failure
