"""The keeping prior against published storage trials."""

import re

import numpy as np
import pytest
from scipy.special import ndtr
from scipy.stats import betabinom

from seedbank.facts import loaders
from seedbank.facts.keeping import keeping_model, keeping_prior, packaged_keeping
from seedbank.facts.kinds import find_kind, kind_facts
from seedbank.facts.overrides import with_overrides
from seedbank.science.viability.decline import (
    DAYS_PER_YEAR,
    YearlyConditions,
    sigma_days,
    yearly_dose,
)
from seedbank.science.viability.posterior import Observations, Priors, fit_posterior
from seedbank.science.viability.prior import initial_viability, lot_log_sd
from seedbank.science.viability.test_evidence import BETWEEN_TESTS_RHO, discount_counts

Trial = tuple[str, float, float, float, float, float]


def _trials_of_110_days() -> list[Trial]:
    return [
        (r.kind, r.temp_c, r.rh_pct, r.days, r.germination_before_pct, r.germination_after_pct)
        for r in loaders.storage_trial_110_days()
    ]


def _trials_of_250_days() -> list[Trial]:
    trials = []
    for row in loaders.published_checks():
        found = re.search(r"t=([\d.]+) C; RH=(\d+) %; days 0,110,250", row.inputs)
        if row.id.startswith("hb506-t13-") and found:
            first, _, last = (float(x) for x in row.expected.split(","))
            kind = row.inputs.split(";")[0]
            trials.append((kind, float(found[1]), float(found[2]), 250.0, first, last))
    return trials


def _within_the_90_percent_band(trials: list[Trial], seeds: int) -> np.ndarray:
    """Whether each later count lies in the band predicted from the first count alone."""
    doses, means, sds, spreads = [], [], [], []
    for kind, temp_c, rh_pct, days, _, _ in trials:
        facts = find_kind(kind)
        prior = packaged_keeping()[facts.slug]
        minimum = facts.minimum_germination_pct
        floor = np.array([np.nan if minimum is None else minimum.value / 100.0])
        mean, sd = initial_viability(floor, np.array([True]))
        place = YearlyConditions(temp_c, temp_c, rh_pct, rh_pct)
        per_year = yearly_dose(prior.constants, prior.isotherm, place).per_year
        doses.append(per_year * days / DAYS_PER_YEAR)
        means.append(mean[0])
        sds.append(sd[0])
        known = np.array([True])
        kind_sd = np.array([prior.estimate.log_sigma_sd])
        spreads.append(lot_log_sd(kind_sd, known, np.array([0.0]))[0])
    dose = np.array(doses)
    first = np.array([[round(t[4] * seeds / 100)] for t in trials], dtype=float)
    counts = discount_counts(first, np.full_like(first, seeds))
    nothing = np.zeros_like(first)
    posterior = fit_posterior(
        Priors(np.array(means), np.array(sds), np.array(spreads)),
        Observations(nothing, counts.viable, counts.seeds, nothing),
    )
    nodes = posterior.nodes(dose)
    p = np.clip(ndtr(nodes.probit), 1e-9, 1 - 1e-9)[:, :, None]
    shape = (1 - BETWEEN_TESTS_RHO) / BETWEEN_TESTS_RHO
    chance = betabinom.pmf(np.arange(seeds + 1), seeds, p * shape, (1 - p) * shape)
    below = np.cumsum(np.einsum("ln,lnk->lk", nodes.weight, chance), axis=1)
    low = np.argmax(below >= 0.05, axis=1)
    high = np.argmax(below >= 0.95, axis=1)
    later = np.array([round(t[5] * seeds / 100) for t in trials])
    return (low <= later) & (later <= high)


def test_storage_trials_of_110_days_fall_in_the_90_percent_band() -> None:
    # Justice & Bass 1978, USDA Agriculture Handbook 506, table 13 (read). Seeds a test are not
    # printed; 100 is assumed. The bar is 85 %; 27 of 30 were inside when this was written.
    inside = _within_the_90_percent_band(_trials_of_110_days(), 100)
    assert inside.size == 30
    assert inside.mean() >= 0.85


def test_storage_trials_of_250_days_hold_to_what_was_measured() -> None:
    # The same table later on. Its series go up and down by ten points (cabbage 93, 71, 92), so 250
    # days from one count is a harder question; measured 17 of 21, held there.
    inside = _within_the_90_percent_band(_trials_of_250_days(), 100)
    assert inside.size == 21
    assert inside.sum() >= 17


def test_levelled_constants_reproduce_the_estimate_at_the_ordinary_store() -> None:
    for slug in ("onion", "carrot", "tomato", "lettuce"):
        prior = packaged_keeping()[slug]
        moisture = prior.isotherm.moisture_pct(np.array([50.5]), np.array([20.3]))
        sigma = sigma_days(prior.constants, moisture, np.array([20.3]))[0]
        assert np.log(sigma) == pytest.approx(prior.estimate.log_sigma, abs=1e-9)


def test_short_lived_kinds_are_told_from_long_lived_ones() -> None:
    # Nagel & Boerner 2010, Seed Sci. Res. 20:1-12 (read): chives 5 y, lettuce 7 y, bean 21 y.
    order = [packaged_keeping()[s].estimate.log_sigma for s in ("chives", "lettuce", "common-bean")]
    assert order == sorted(order)


def test_the_sorts_of_evidence_disagree_and_the_prior_says_so() -> None:
    model = keeping_model()
    assert model.kinds_compared >= 10
    assert np.abs(model.sort_offset).max() > 0.3
    for slug, prior in packaged_keeping().items():
        assert prior.estimate.log_sigma_sd > model.common_sd, slug


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
