"""Outside checks: brute-force posterior on a dense grid, and simulated gardens of known truth."""

from dataclasses import replace

import numpy as np
import pytest
from scipy import stats
from scipy.special import ndtr

from seedbank.science.sowing.emergence import WeightedNodes, emergence_probability
from seedbank.science.sowing.field_shift_learning import (
    ESTIMATED,
    LOG_SPREAD_SD,
    Effect,
    ShiftProblem,
    effects_of,
    learn_shift,
)
from seedbank.science.sowing.field_shift_prior import SowingConditions, Spreads
from seedbank.science.sowing.plant_counts import Patches
from seedbank.science.sowing.shift_observation import (
    ShiftTables,
    SowingRecord,
    normal_factors,
    shift_likelihood,
    tabulate,
    tilted_moments,
)

from .field_factors import published_prior

OPEN_ROW = SowingConditions("carrot", "row", "open", 2024, "spring")
PRIOR = published_prior()


def hermite(mean: float, sd: float, count: int = 20) -> WeightedNodes:
    point, weight = np.polynomial.hermite_e.hermegauss(count)
    return WeightedNodes(mean + sd * point, weight / weight.sum())


def prior_scale(conditions: SowingConditions) -> dict[str, float]:
    for_kind, for_rest = PRIOR.scales(conditions)
    sorts = ("garden", "method", "protection", "season", "sowing")
    return {"kind": for_kind} | dict.fromkeys(sorts, for_rest)


def moments(record: SowingRecord, mean: float, sd: float) -> tuple[float, float]:
    tables = ShiftTables.of([tabulate(record)])
    centre, variance = tilted_moments(tables, np.array([mean]), np.array([sd]))
    return float(centre[0]), float(variance[0])


def factor(record: SowingRecord, mean: float, sd: float) -> tuple[float, float]:
    tables = ShiftTables.of([tabulate(record)])
    found = normal_factors(tables, np.array([mean]), np.array([sd]))
    return float(found.precision[0]), float(found.weighted_mean[0])


def test_the_likelihood_is_the_binomial_mixed_over_viability() -> None:
    record = SowingRecord(OPEN_ROW, 40, 17, hermite(0.9, 0.3))
    shift = np.array([-0.5, 0.0, 0.4, 1.3])
    chance = ndtr(record.viability.value[:, None] - np.maximum(shift, 0.0))
    exact = record.viability.weight @ stats.binom.pmf(17, 40, chance)
    got = shift_likelihood(record, shift)
    assert got / got[2] == pytest.approx(exact / exact[2], rel=2e-4)


def test_tilted_moments_agree_with_a_fine_grid() -> None:
    record = SowingRecord(OPEN_ROW, 60, 20, hermite(0.9, 0.2), patches=Patches(0.1))
    shift = np.linspace(-3.5, 5.0, 6001)
    chance = ndtr(record.viability.value[:, None] - np.maximum(shift, 0.0))
    like = record.viability.weight @ stats.betabinom.pmf(20, 60, chance * 9, (1 - chance) * 9)
    weight = like * stats.norm.pdf(shift, 0.8, 0.7)
    mean = float(weight @ shift / weight.sum())
    variance = float(weight @ (shift - mean) ** 2 / weight.sum())
    assert moments(record, 0.8, 0.7) == pytest.approx((mean, variance), rel=1e-4)


@pytest.mark.parametrize("sd", [0.02, 0.2])
@pytest.mark.parametrize("emerged", [0, 700, 2000])
def test_large_sowings_are_resolved_however_well_the_lot_is_known(sd: float, emerged: int) -> None:
    record = SowingRecord(OPEN_ROW, 2000, emerged, hermite(0.9, sd, 120))
    shift = np.linspace(-3.4, 5.0, 8001)
    chance = ndtr(record.viability.value[:, None] - np.maximum(shift, 0.0))
    like = record.viability.weight @ stats.binom.pmf(emerged, 2000, chance)
    weight = like * stats.norm.pdf(shift, 0.8, 0.7)
    mean = float(weight @ shift / weight.sum())
    deviation = float(np.sqrt(weight @ (shift - mean) ** 2 / weight.sum()))
    got_mean, got_variance = moments(record, 0.8, 0.7)
    assert got_mean == pytest.approx(mean, abs=1e-3 * deviation)
    assert np.sqrt(got_variance) == pytest.approx(deviation, rel=1e-3)


@pytest.mark.parametrize("patches", [Patches(), Patches(0.1), Patches(0.05, 20)])
@pytest.mark.parametrize(("sown", "emerged"), [(1, 0), (6, 6), (40, 11), (300, 0), (900, 640)])
def test_tables_hold_the_likelihood_at_any_shift_a_sowing_may_have(
    sown: int, emerged: int, patches: Patches
) -> None:
    record = SowingRecord(OPEN_ROW, sown, emerged, hermite(1.1, 0.25), patches=patches)
    shift = np.linspace(-2.0, 7.0, 977)
    exact = shift_likelihood(record, shift)
    held = np.exp(ShiftTables.of([tabulate(record)]).log_likelihood(shift[None, :])[0])
    assert held / held.max() == pytest.approx(exact / exact.max(), abs=1e-4)


def test_sowings_tabulated_together_are_as_each_alone() -> None:
    records = [
        SowingRecord(OPEN_ROW, sown, sown // 3, hermite(0.9, 0.2), patches=Patches(0.1))
        for sown in (3, 50, 1500)
    ]
    mean, sd = np.array([0.4, 0.8, 1.2]), np.array([0.3, 0.7, 0.5])
    together = tilted_moments(ShiftTables.of([tabulate(one) for one in records]), mean, sd)
    for at, record in enumerate(records):
        alone = moments(record, float(mean[at]), float(sd[at]))
        assert (together[0][at], together[1][at]) == pytest.approx(alone, rel=1e-12)


def test_the_spreads_found_are_the_likeliest_there_are() -> None:
    # Outside check of the slopes: no step along any spread, taken by itself, does better.
    rng = np.random.default_rng(7)
    kinds = ("carrot", "pea", "leek", "kale")
    records = [
        SowingRecord(
            replace(OPEN_ROW, kind=kinds[i % 4], year=2018 + i % 5),
            80,
            int(rng.integers(5, 70)),
            hermite(1.1, 0.15),
        )
        for i in range(24)
    ]
    tables = ShiftTables.of([tabulate(one) for one in records])
    effects = tuple(sorted({e for one in records for e in effects_of(one.conditions)}))
    problem = ShiftProblem.of(PRIOR, records, effects)
    found = normal_factors(tables, problem.base, np.full(24, 0.8))
    best = problem.estimate_spreads(found.precision, found.weighted_mean)

    def loss(spreads: Spreads) -> float:
        fit = problem.solve(spreads, found.precision, found.weighted_mean)
        steps = [
            np.log(getattr(spreads, name) / getattr(PRIOR.spreads, name)) for name in ESTIMATED
        ]
        return 0.5 * float(np.square(steps).sum()) / LOG_SPREAD_SD**2 - fit.log_marginal

    for name in ESTIMATED:
        inside = abs(np.log(getattr(best, name) / getattr(PRIOR.spreads, name))) < 1.0
        assert inside, "the garden made here should not push a spread to its bound"
        for turn in (0.99, 1.01):
            stepped = replace(best, **{name: turn * getattr(best, name)})
            assert loss(stepped) > loss(best)


def test_what_was_eaten_frosted_or_dried_out_is_not_bad_seed() -> None:
    whole = SowingRecord(OPEN_ROW, 50, 20, hermite(0.9, 0.2))
    raided = SowingRecord(OPEN_ROW, 90, 20, hermite(0.9, 0.2), eaten=25, frosted=10, dried_out=5)
    assert factor(whole, 0.9, 0.7) == factor(raided, 0.9, 0.7)
    gone = SowingRecord(OPEN_ROW, 50, 0, hermite(0.9, 0.2), eaten=50)
    assert factor(gone, 0.9, 0.7) == (0.0, 0.0)


def test_one_sowing_gives_the_brute_force_posterior() -> None:
    record = SowingRecord(OPEN_ROW, 200, 40, hermite(1.2, 0.1))
    fit = learn_shift(PRIOR, [record]).predict(OPEN_ROW)
    spread, scale = PRIOR.spreads, prior_scale(OPEN_ROW)
    offset = PRIOR.kind_offset("carrot")
    lasting = (scale["kind"] * offset.sd) ** 2 + scale["garden"] ** 2 * (
        spread.garden**2 + spread.method**2 + spread.protection**2 + spread.season**2
    )
    luck = (scale["sowing"] * spread.sowing) ** 2
    centre = PRIOR.average + scale["kind"] * offset.mean
    grid = centre + np.sqrt(lasting) * np.linspace(-6, 6, 401)
    inner = np.sqrt(luck) * np.linspace(-6, 6, 201)
    like = shift_likelihood(record, (grid[:, None] + inner[None, :]).ravel()).reshape(401, 201)
    weight = stats.norm.pdf(grid, centre, np.sqrt(lasting)) * (
        like @ stats.norm.pdf(inner, 0.0, np.sqrt(luck))
    )
    mean = float(weight @ grid / weight.sum())
    variance = float(weight @ (grid - mean) ** 2 / weight.sum())
    assert fit.mean == pytest.approx(mean, abs=2e-4)
    assert fit.sd == pytest.approx(np.sqrt(variance + luck), abs=2e-4)


def test_without_sowings_the_published_prior_answers() -> None:
    fit = learn_shift(PRIOR, []).predict(OPEN_ROW)
    assert fit.own_share == 0.0
    assert fit.mean == pytest.approx(PRIOR.average + PRIOR.kind_offset("carrot").mean)
    assert fit.sowings == 0


def test_contributions_add_up_to_the_shift() -> None:
    records = [SowingRecord(OPEN_ROW, 100, k, hermite(1.2, 0.2)) for k in (30, 22, 41)]
    cold = replace(OPEN_ROW, temperature_shift=0.3)
    fit = learn_shift(PRIOR, records).predict(cold)
    assert sum(part.shift for part in fit.contributions) == pytest.approx(fit.mean)
    assert any(part.sowings == 3 for part in fit.contributions)


def test_poor_sowings_of_one_kind_teach_about_others_but_less() -> None:
    start = learn_shift(PRIOR, [])
    learned = learn_shift(PRIOR, [SowingRecord(OPEN_ROW, 100, 12, hermite(1.2, 0.1))] * 4)
    other = replace(OPEN_ROW, kind="leek")
    moved = learned.predict(OPEN_ROW).mean - start.predict(OPEN_ROW).mean
    moved_other = learned.predict(other).mean - start.predict(other).mean
    assert moved > moved_other > 0.1


def test_the_same_sowings_give_the_same_answer_in_any_order() -> None:
    rng = np.random.default_rng(2)
    records = [
        SowingRecord(replace(OPEN_ROW, year=2015 + i), 80, int(k), hermite(1.0, 0.2))
        for i, k in enumerate(rng.integers(10, 50, 10))
    ]
    one, two = learn_shift(PRIOR, records), learn_shift(PRIOR, records[::-1])
    assert one.predict(OPEN_ROW).mean == pytest.approx(two.predict(OPEN_ROW).mean, abs=1e-5)


class Garden:
    """An invented garden whose effects are drawn from the published spreads."""

    def __init__(self, rng: np.random.Generator) -> None:
        self.rng = rng
        self.effects: dict[Effect, float] = {}

    def effect(self, key: Effect) -> float:
        if key not in self.effects:
            offset = PRIOR.kind_offset(key[1])
            mean, sd = (offset.mean, offset.sd) if key[0] == "kind" else (0.0, 0.0)
            sd = sd or float(getattr(PRIOR.spreads, key[0]))
            self.effects[key] = float(self.rng.normal(mean, sd))
        return self.effects[key]

    def sow(self, year: int) -> tuple[SowingConditions, float]:
        pick = self.rng.choice
        conditions = SowingConditions(
            str(pick(["carrot", "lettuce", "radish", "kale", "leek", "chard"])),
            str(pick(["row", "station", "module"])),
            str(pick(["open", "open", "tunnel", "indoors"])),
            year,
            str(pick(["spring", "summer", "autumn"])),
            float(pick([0.0, 0.3])),
        )
        scale = prior_scale(conditions)
        shift = PRIOR.setting_shift(conditions) + (conditions.temperature_shift or 0.0)
        shift += sum(scale[key[0]] * self.effect(key) for key in effects_of(conditions))
        return conditions, shift + scale["sowing"] * float(
            self.rng.normal(0.0, PRIOR.spreads.sowing)
        )

    def grow(self, year: int) -> SowingRecord:
        conditions, shift = self.sow(year)
        seen = float(self.rng.normal(1.0, 0.4))
        alive = float(self.rng.normal(seen, 0.15))
        sown = int(self.rng.integers(30, 200))
        emerged = int(self.rng.binomial(sown, float(emergence_probability(alive, shift))))
        return SowingRecord(conditions, sown, emerged, hermite(seen, 0.15))


def test_the_90_percent_interval_holds_in_simulated_gardens_and_the_garden_is_found() -> None:
    rng = np.random.default_rng(41)
    inside, truth, found, covered = [], [], [], []
    for _ in range(80):
        garden = Garden(rng)
        model = learn_shift(PRIOR, [garden.grow(2018 + i % 6) for i in range(20)])
        for _ in range(4):
            conditions, shift = garden.sow(2025)
            told = model.predict(conditions)
            inside.append(abs(shift - told.mean) <= 1.645 * told.sd)
        place = model.effects.index(("garden", ""))
        truth.append(garden.effect(("garden", "")))
        found.append(model.posterior.mean[place])
        sd = float(np.sqrt(model.posterior.covariance[place, place]))
        covered.append(abs(truth[-1] - found[-1]) <= 1.645 * sd)
    assert 0.85 <= np.mean(inside) <= 0.95
    assert 0.82 <= np.mean(covered) <= 0.97
    assert np.corrcoef(truth, found)[0, 1] > 0.6


def test_impossible_counts_are_refused() -> None:
    with pytest.raises(ValueError, match="not possible"):
        SowingRecord(OPEN_ROW, 10, 11, hermite(1.0, 0.1))
    with pytest.raises(ValueError, match="negative"):
        SowingRecord(OPEN_ROW, 10, 5, hermite(1.0, 0.1), eaten=-1)
