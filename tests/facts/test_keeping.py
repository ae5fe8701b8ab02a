"""The keeping prior against published storage trials."""

import re
import sys
from dataclasses import fields

import numpy as np
import pytest
from scipy.special import ndtr
from scipy.stats import betabinom

from seedbank.facts.fit_keeping_table import fitted_keeping
from seedbank.facts.keeping import keeping_model, keeping_prior, packaged_keeping
from seedbank.facts.kinds import find_kind, kind_facts, packaged_kinds
from seedbank.facts.overrides import with_overrides
from seedbank.science.viability import decline
from seedbank.science.viability.decline import (
    DAYS_PER_YEAR,
    YearlyConditions,
    sigma_days,
    yearly_dose,
)
from seedbank.science.viability.evidence import Observations
from seedbank.science.viability.posterior import Priors, fit_posterior
from seedbank.science.viability.prior import KeepingModel, initial_viability, lot_log_sd
from seedbank.science.viability.test_evidence import BETWEEN_TESTS_RHO, discount_counts
from tests.published_rows import published

Trial = tuple[str, float, float, float, float, float]
STORE = slice(0, 3)
# Series that fall and rise again by ten to twenty points, which no ageing does: not leant on.
NOT_LEANT_ON = {
    ("cabbage", 10.0, 66.0),
    ("common bean", 26.7, 44.0),
    ("common bean", 10.0, 81.0),
}


def _trials(days: float) -> list[Trial]:
    """USDA Agriculture Handbook 506, table 13 (read): kind, C, humidity, days, % before, after."""
    found = [
        (row["kind"], *(float(row[c]) for c in list(row)[1:6]))
        for name in ("storage_trial_110_days", "storage_trial_more_kinds")
        for row in published(name)
    ]
    for row in published("published_checks"):
        later = re.search(r"t=([\d.]+) C; RH=(\d+) %; days 0,110,250", row["inputs"])
        if row["id"].startswith("hb506-t13-") and later:
            first, _, last = (float(x) for x in row["expected"].split(","))
            kind = row["inputs"].split(";")[0]
            found.append((kind, float(later[1]), float(later[2]), 250.0, first, last))
    return [one for one in found if one[3] == days and one[STORE] not in NOT_LEANT_ON]


def _priors(trials: list[Trial]) -> tuple[np.ndarray, Priors]:
    doses, means, sds, spreads = [], [], [], []
    for kind, temp_c, rh_pct, days, _, _ in trials:
        facts = find_kind(kind)
        prior = packaged_keeping(facts.slug)
        minimum = facts.minimum_germination_pct
        floor = np.array([np.nan if minimum is None else minimum.value / 100.0])
        mean, sd = initial_viability(floor, np.array([True]))
        place = YearlyConditions(temp_c, temp_c, rh_pct, rh_pct)
        per_year = yearly_dose(prior.constants, prior.isotherm, place)[-1]
        doses.append(per_year * days / DAYS_PER_YEAR)
        means.append(mean[0])
        sds.append(sd[0])
        kind_sd = np.array([prior.estimate.log_sigma_sd])
        spreads.append(lot_log_sd(kind_sd, np.array([True]))[0])
    return np.array(doses), Priors(np.array(means), np.array(sds), np.array(spreads))


SEEDS = 100  # a test; not printed, so assumed
SHAPE = (1 - BETWEEN_TESTS_RHO) / BETWEEN_TESTS_RHO
STRENGTHS = np.arange(0.0, 2.01, 0.1)


def _later(trials: list[Trial]) -> np.ndarray:
    return np.array([round(t[5] * SEEDS / 100) for t in trials])


def _chances(trials: list[Trial]) -> np.ndarray:
    """Chance of each later count (L, SEEDS + 1), from the first count alone."""
    dose, priors = _priors(trials)
    first = np.array([[round(t[4] * SEEDS / 100)] for t in trials], dtype=float)
    counts = discount_counts(first, np.full_like(first, SEEDS))
    nothing = np.zeros_like(first)
    tests = Observations.of_tests(nothing, counts.viable, counts.seeds, nothing)
    posterior = fit_posterior(priors, tests)
    nodes = posterior.nodes(dose)
    p = np.clip(ndtr(nodes.probit), 1e-9, 1 - 1e-9)[:, :, None]
    each = betabinom.pmf(np.arange(SEEDS + 1), SEEDS, p * SHAPE, (1 - p) * SHAPE)
    return np.asarray(np.einsum("ln,lnk->lk", nodes.weight, each))


def _in_band(trials: list[Trial], chances: np.ndarray) -> np.ndarray:
    below = np.cumsum(chances, axis=1)
    low, high = np.argmax(below >= 0.05, axis=1), np.argmax(below >= 0.95, axis=1)
    return (low <= _later(trials)) & (_later(trials) <= high)


@pytest.fixture(scope="module")
def by_strength() -> dict[float, np.ndarray]:
    """Chances of every trial's later count at each strength of warm damp."""
    found = {}
    with pytest.MonkeyPatch.context() as patch:
        for strength in STRENGTHS:
            patch.setattr(decline, "WARM_DAMP_LOG", float(strength))
            found[float(strength)] = _chances(TRIALS)
    return found


TRIALS = _trials(110.0) + _trials(250.0)
KIND = np.array([t[0] for t in TRIALS])
KINDS = sorted({t[0] for t in TRIALS})


def _scores(by_strength: dict[float, np.ndarray]) -> np.ndarray:
    """Log score of each trial (strengths, L)."""
    rows = np.arange(len(TRIALS))
    return np.array([np.log(c[rows, _later(TRIALS)]) for c in by_strength.values()])


def _strength_without(kind: str, scores: np.ndarray) -> float:
    """The strength that serves every other kind's trials best."""
    return float(STRENGTHS[int(np.argmax(scores[:, kind != KIND].sum(axis=1)))])


def test_the_strength_of_warm_damp_does_not_hang_on_any_one_kind(
    by_strength: dict[float, np.ndarray],
) -> None:
    scores = _scores(by_strength)
    found = {kind: _strength_without(kind, scores) for kind in KINDS}
    sys.stdout.write(f"\nwarm damp, one kind left out: {found}\n")
    assert len(found) == 10
    assert all(abs(one - decline.WARM_DAMP_LOG) <= 0.2 for one in found.values())


@pytest.mark.parametrize("days", [110.0, 250.0])
def test_a_kinds_storage_trial_is_predicted_from_the_others_and_better_than_by_the_equation_alone(
    days: float, by_strength: dict[float, np.ndarray]
) -> None:
    scores = _scores(by_strength)
    of_days = np.array([t[3] == days for t in TRIALS])
    inside, score = 0, 0.0
    for kind in KINDS:
        strength = _strength_without(kind, scores)
        mine = (kind == KIND) & of_days
        inside += int(_in_band(TRIALS, by_strength[strength])[mine].sum())
        score += float(scores[int(np.argmax(strength == STRENGTHS)), mine].sum())
    alone = _in_band(TRIALS, by_strength[0.0])[of_days].sum()
    gain = (score - scores[0, of_days].sum()) / of_days.sum()
    sys.stdout.write(
        f"\n{days:g} days: {inside} of {of_days.sum()} in the 90 % band, {alone} by the equation "
        f"alone; log score a trial {gain:+.3f}\n"
    )
    assert inside >= alone
    assert inside >= 0.85 * of_days.sum()
    assert gain > 0.05


def test_levelled_constants_reproduce_the_estimate_at_the_ordinary_store() -> None:
    for slug in ("onion", "carrot", "tomato", "lettuce"):
        prior = packaged_keeping(slug)
        moisture = prior.isotherm.moisture_pct(np.array([50.5]), np.array([20.3]))
        sigma = sigma_days(prior.constants, moisture, np.array([20.3]))[0]
        assert np.log(sigma) == pytest.approx(prior.estimate.log_sigma, abs=1e-9)


def test_short_lived_kinds_are_told_from_long_lived_ones() -> None:
    # Nagel & Boerner 2010, Seed Sci. Res. 20:1-12 (read): chives 5 y, lettuce 7 y, bean 21 y.
    order = [packaged_keeping(s).estimate.log_sigma for s in ("chives", "lettuce", "common-bean")]
    assert order == sorted(order)


def test_the_table_of_the_fit_is_what_fitting_anew_finds() -> None:
    table, fitted = keeping_model(), fitted_keeping()
    for field in fields(KeepingModel):
        assert getattr(table, field.name) == pytest.approx(getattr(fitted, field.name), abs=1e-6), (
            "stale: write it anew with python -m seedbank.facts.fit_keeping_table"
        )


def test_the_sorts_of_evidence_disagree_and_the_prior_says_so() -> None:
    model = keeping_model()
    assert model.kinds_compared >= 10
    assert np.abs(model.sort_offset).max() > 0.3
    for slug in packaged_kinds():
        assert packaged_keeping(slug).estimate.log_sigma_sd > model.common_sd, slug


def test_a_gardeners_own_half_viability_moves_the_prior_towards_it() -> None:
    before = keeping_prior(kind_facts("parsnip"))
    own = with_overrides(
        kind_facts("parsnip"), {"half_viability_years": ("12", "counted in our own jars")}
    )
    after = keeping_prior(own)
    # Half-viability is the start's probits times sigma; the gardener's word outweighs the lists.
    mean, _ = initial_viability(np.array([0.60]), np.array([True]))
    said = np.log(12 * DAYS_PER_YEAR / mean[0])
    moved = after.estimate.log_sigma - before.estimate.log_sigma
    assert moved > 0.6 * (said - before.estimate.log_sigma) > 0
    assert any("our own jars" in source.text for source in after.sources)


def test_a_recalcitrant_kind_is_not_promised_years() -> None:
    own = with_overrides(
        None,
        {"storage_class": ("recalcitrant", "nursery handbook")},
        slug="water-nut",
        name="water nut",
    )
    prior = keeping_prior(own)
    assert not prior.applies
    assert np.exp(prior.estimate.log_sigma) < 365
    assert prior.estimate.log_sigma_sd >= 1.0


def test_an_estimate_tells_how_much_of_it_was_recalled() -> None:
    shares = {slug: packaged_keeping(slug).recalled_share for slug in packaged_kinds()}
    assert shares["basil"] == 0.0  # one list, read
    assert shares["borage"] == 0.0  # nothing at all: what other kinds do
    assert 0 < shares["lettuce"] < 1
    rows = packaged_keeping("sesame")
    assert shares["sesame"] == pytest.approx(rows.estimate.own_share)  # recalled constants alone
