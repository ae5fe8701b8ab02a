"""What emergence brings, in simulated seasons: lots sown side by side, of which few were tested.

To reach: the CRPS of untested lots' viability at least 35 % lower than without their sowings, and
90 % bands that hold. Worlds: as the model has it, and one in which beds are harsher than published.
*Measured* over 120 seasons: 0.160 to 0.060 (62 % lower), bands hold 90 %.
"""

from dataclasses import dataclass
from datetime import date
from typing import Any

import numpy as np
import pytest
from scipy.special import ndtr

from seedbank.facts.kinds import kind_facts
from seedbank.science.quantities import FloatArray, IntArray
from seedbank.science.sowing.emergence import LEFT_BY_FAILURE, BetaShare
from seedbank.science.sowing.field_shift_prior import (
    FAILURE,
    GARDEN_SD,
    SEASON_SD,
    SOWING_SD,
    SowingConditions,
)
from seedbank.science.sowing.seedling_losses import EatenRecord
from seedbank.science.sowing.sowing_evidence import SowingRecord
from seedbank.science.viability.evidence import Observations
from seedbank.science.viability.posterior import Priors, fit_posterior
from seedbank.viability.past_sowings import PastSowing
from seedbank.viability.sown_evidence import not_yet_learned
from tests.simulated_gardens import crps
from tests.sizes import sized

LOTS, TESTED, SOWN = 8, 2, 60
GARDENS = sized(10, 120)
DAY = date(2026, 4, 10)
OPEN_ROW = SowingConditions("leek", "row", "open", 2026, "spring")


@dataclass(frozen=True)
class _Dose:
    """Lots that were all kept in one way, as ``LotRecords`` tells of them."""

    dose: FloatArray

    @property
    def collection(self) -> Any:
        return self

    storage = collection

    @property
    def lot_id(self) -> IntArray:
        return np.arange(self.size)

    @property
    def size(self) -> int:
        return self.dose.size

    @property
    def weight(self) -> FloatArray:
        return np.ones((self.size, 1))

    def doses_at(self, lot: IntArray, _day: FloatArray) -> FloatArray:
        return self.dose[lot][:, None]

    def doses_in_rows(self, lot: IntArray, _day: FloatArray) -> FloatArray:
        rows = np.zeros((self.size, 1, 1))
        rows[lot, 0, 0] = self.dose[lot]
        return rows


def season(rng: np.random.Generator, harsher: float) -> tuple[Any, ...]:
    """Doses, priors, tests, sowings and true viability of one garden's lots."""
    dose = rng.uniform(0.3, 3.0, LOTS)
    priors = Priors(np.full(LOTS, 1.89), np.full(LOTS, 0.481), np.full(LOTS, 0.7), np.zeros(LOTS))
    v = rng.normal(1.89, 0.481, LOTS) - np.exp(-rng.normal(0.0, 0.7, LOTS)) * dose
    seeds = np.where(np.arange(LOTS) < TESTED, 50.0, 0.0)[:, None]
    viable = rng.binomial(seeds[:, 0].astype(int), ndtr(v)).astype(float)[:, None]
    tests = Observations.of_tests(dose[:, None], viable, seeds, np.full((LOTS, 1), 0.012))
    prior = not_yet_learned(()).model.prior
    shared = rng.normal(0.0, np.hypot(GARDEN_SD["soil"], SEASON_SD)) + harsher
    shared += rng.normal(0.0, prior.kind_offset("leek").sd)
    shift = prior.published_shift(OPEN_ROW) + shared + rng.normal(0.0, SOWING_SD, LOTS)
    come = ndtr(v - np.maximum(shift, 0.0))
    come *= np.where(rng.random(LOTS) < FAILURE["open"], LEFT_BY_FAILURE, 1.0)
    sowings = [
        PastSowing(
            at, at, "", kind_facts("leek"), DAY, None, None,
            SowingRecord(OPEN_ROW, SOWN, int(rng.binomial(SOWN, come[at]))),
            EatenRecord("open", SOWN, 0), BetaShare(999.0, 1.0),
        )
        for at in range(LOTS)
    ]  # fmt: skip
    return dose, priors, tests, sowings, ndtr(v)


@pytest.mark.parametrize("harsher", [0.0, 0.4])
def test_untested_lots_gain_from_what_came_up(harsher: float) -> None:
    rng = np.random.default_rng(11)
    told: dict[str, list[float]] = {"without": [], "with": [], "inside": []}
    for _ in range(GARDENS):
        dose, priors, tests, sowings, truth = season(rng, harsher)
        records, sown = _Dose(dose), not_yet_learned(sowings)
        for _ in range(2):
            sown = sown.again(records, priors, tests)  # type: ignore[arg-type]
        both = tests.and_those(sown.evidence(records))  # type: ignore[arg-type]
        untested = np.arange(TESTED, LOTS)
        for name, evidence in (("without", tests), ("with", both)):
            fitted = fit_posterior(priors, evidence)
            told[name] += crps(fitted, dose, truth)[untested].tolist()
        low, high = fitted.quantile((0.05, 0.95), dose)[untested].T
        told["inside"] += ((low <= truth[untested]) & (truth[untested] <= high)).tolist()
    without, now, inside = (float(np.mean(told[name])) for name in ("without", "with", "inside"))
    assert now < 0.65 * without
    assert 0.84 <= inside <= 0.96
