"""Outside checks: brute-force posterior on a dense grid, and simulated gardens of known truth."""

from dataclasses import replace

import numpy as np
import pytest
from scipy import stats

from seedbank.science.quantities import FloatArray, ProbitNodes
from seedbank.science.sowing.emergence import LEFT_BY_FAILURE, emergence_probability
from seedbank.science.sowing.field_shift_learning import (
    Effect,
    FieldShiftModel,
    effects_of,
    learn_shift,
)
from seedbank.science.sowing.field_shift_prior import (
    FAILURE,
    GARDEN_SD,
    SEASON_SD,
    SOWING_SD,
    SowingConditions,
    share_of,
)
from seedbank.science.sowing.sowing_evidence import SowingRecord, seed_law
from tests.science.sowing.test_sowing_evidence import likelihood

from .field_factors import published_prior

OPEN_ROW = SowingConditions("carrot", "row", "open", 2024, "spring")
PRIOR = published_prior()
Sown = tuple[SowingRecord, float, float]
"""A record with the mean and sd of its seed's probit."""


def seed(mean: float, sd: float) -> ProbitNodes:
    point, weight = np.polynomial.hermite_e.hermegauss(60)
    return ProbitNodes((mean + sd * point)[None], weight[None] / weight.sum())


def laws(sown: list[Sown]) -> FloatArray:
    return np.vstack([np.zeros((0, 501)), *(seed_law(seed(mean, sd)) for _, mean, sd in sown)])


def learn(sown: list[Sown]) -> FieldShiftModel:
    return learn_shift(PRIOR, [record for record, _, _ in sown], laws(sown))


def test_one_sowing_gives_the_brute_force_posterior() -> None:
    """But for failing and luck, whose spread is learned: they are given as the model has them."""
    record = SowingRecord(OPEN_ROW, 200, 60)
    model = learn([(record, 1.2, 0.2)])
    fit = model.predict(OPEN_ROW)
    shared = PRIOR.kind_offset("carrot").sd ** 2 + GARDEN_SD["soil"] ** 2 + SEASON_SD**2
    centre, luck = PRIOR.published_shift(OPEN_ROW), model.luck * SOWING_SD
    grid = centre + np.sqrt(shared) * np.linspace(-6, 6, 301)
    inner = luck * np.linspace(-6, 6, 121)
    nodes = seed(1.2, 0.2)
    shift = (grid[:, None] + inner[None, :]).ravel()
    come = emergence_probability(nodes.probit[0][:, None], shift[None, :])
    like = nodes.weight[0] @ (
        (1.0 - FAILURE["open"]) * likelihood(record, come)
        + FAILURE["open"] * likelihood(record, LEFT_BY_FAILURE * come)
    )
    weight = stats.norm.pdf(grid, centre, np.sqrt(shared)) * (
        like.reshape(301, 121) @ stats.norm.pdf(inner, 0.0, luck)
    )
    mean = float(weight @ grid / weight.sum())
    variance = float(weight @ (grid - mean) ** 2 / weight.sum())
    assert fit.law.mean == pytest.approx(mean, abs=2e-3)
    assert fit.law.sd == pytest.approx(np.sqrt(variance + luck**2), abs=2e-3)


def test_without_sowings_the_published_prior_answers() -> None:
    fit = learn([]).predict(OPEN_ROW)
    assert (fit.own_share, fit.sowings) == (0.0, 0)
    assert fit.law.mean == pytest.approx(PRIOR.average + PRIOR.kind_offset("carrot").mean)
    assert fit.law.failure == pytest.approx(FAILURE["open"])


def test_contributions_add_up_to_the_shift() -> None:
    cold = replace(OPEN_ROW, temperature_shift=0.3)
    fit = learn([(SowingRecord(OPEN_ROW, 100, k), 1.2, 0.2) for k in (30, 22, 41)]).predict(cold)
    assert sum(part.shift for part in fit.contributions) == pytest.approx(fit.law.mean)
    assert any(part.sowings == 3 for part in fit.contributions)


def test_poor_sowings_of_one_kind_teach_about_others_but_less() -> None:
    start, learned = learn([]), learn([(SowingRecord(OPEN_ROW, 100, 22), 1.2, 0.1)] * 4)
    other = replace(OPEN_ROW, kind="leek")
    moved = learned.predict(OPEN_ROW).law.mean - start.predict(OPEN_ROW).law.mean
    moved_other = learned.predict(other).law.mean - start.predict(other).law.mean
    assert moved > moved_other > 0.1


def test_a_bed_that_capped_over_is_taken_for_failed_and_teaches_little_else() -> None:
    sound = [(SowingRecord(OPEN_ROW, 100, k), 1.2, 0.15) for k in (52, 60, 48, 55, 62, 50)]
    before = learn(sound)
    after = learn([*sound, (SowingRecord(replace(OPEN_ROW, year=2025), 100, 4), 1.2, 0.15)])
    assert after.failing[-1] > 0.8 > 0.05 > after.failing[0]
    here = replace(OPEN_ROW, year=2026)
    one, two = before.predict(here).law, after.predict(here).law
    assert two.failure > one.failure
    assert two.mean - one.mean < 0.1
    # Nor is its seed dead: its evidence alone would leave such seed hardly alive.
    told = after.of_seed()[-1]
    grid = np.linspace(-12.0, 8.0, 501)
    alive, dead = np.interp(1.2, grid, told), np.interp(-1.0, grid, told)
    assert alive - dead > -4.0


def test_ground_and_compost_are_learned_apart() -> None:
    tray = SowingConditions("leek", "module", "indoors", 2024, "spring")
    learned = learn([(SowingRecord(OPEN_ROW, 100, 22), 1.2, 0.1)] * 4)
    assert learned.predict(tray).law.mean == pytest.approx(
        learn([]).predict(tray).law.mean, abs=0.06
    )


def test_the_same_sowings_give_the_same_answer_in_any_order() -> None:
    rng = np.random.default_rng(2)
    sown = [
        (SowingRecord(replace(OPEN_ROW, year=2015 + i), 80, int(k)), 1.0, 0.2)
        for i, k in enumerate(rng.integers(10, 50, 10))
    ]
    one, two = learn(sown).predict(OPEN_ROW).law, learn(sown[::-1]).predict(OPEN_ROW).law
    assert (one.mean, one.sd) == pytest.approx((two.mean, two.sd), abs=1e-5)


class Garden:
    """An invented garden whose effects, luck and failures are drawn from the published spreads."""

    def __init__(self, rng: np.random.Generator) -> None:
        self.rng = rng
        self.effects: dict[Effect, float] = {}

    def effect(self, key: Effect) -> float:
        if key not in self.effects:
            sort, level = key
            sd = {"season": SEASON_SD, "garden": GARDEN_SD.get(level, 0.0)}.get(sort)
            sd = PRIOR.kind_offset(level).sd if sd is None else sd
            self.effects[key] = float(self.rng.normal(0.0, sd))
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
        share = {sort: share_of(sort, conditions) for sort in ("kind", "season", "sowing")}
        shift = PRIOR.published_shift(conditions)
        shift += sum(share.get(key[0], 1.0) * self.effect(key) for key in effects_of(conditions))
        return conditions, shift + share["sowing"] * float(self.rng.normal(0.0, SOWING_SD))

    def grow(self, year: int) -> Sown:
        conditions, shift = self.sow(year)
        believed = float(self.rng.normal(1.0, 0.4))
        alive = float(self.rng.normal(believed, 0.15))
        sown = int(self.rng.integers(30, 200))
        come = float(emergence_probability(alive, shift))
        if self.rng.random() < FAILURE[conditions.exposure]:
            come *= LEFT_BY_FAILURE
        return SowingRecord(conditions, sown, int(self.rng.binomial(sown, come))), believed, 0.15


def test_the_90_percent_interval_holds_in_simulated_gardens_and_the_garden_is_found() -> None:
    rng = np.random.default_rng(41)
    inside, truth, found, covered, luck = [], [], [], [], []
    for _ in range(60):
        garden = Garden(rng)
        model = learn([garden.grow(2018 + i % 6) for i in range(20)])
        for _ in range(4):
            conditions, shift = garden.sow(2025)
            law = model.predict(conditions).law
            inside.append(abs(shift - law.mean) <= 1.645 * law.sd)
        place = model.names.index(("garden", "soil"))
        truth.append(garden.effect(("garden", "soil")))
        found.append(model.learned.mean[place])
        sd = float(np.sqrt(model.learned.covariance[place, place]))
        covered.append(abs(truth[-1] - found[-1]) <= 1.645 * sd)
        luck.append(model.luck)
    assert 0.85 <= np.mean(inside) <= 0.95
    assert 0.82 <= np.mean(covered) <= 0.97
    assert np.corrcoef(truth, found)[0, 1] > 0.6
    assert 0.85 < float(np.exp(np.mean(np.log(luck)))) < 1.15
