"""How well emergence was foretold: predicted against actual over finished sowings.

Predictions must be made without the sowing they judge.

Outside check: forecasts drawn from the model are calibrated, hopeful ones are found out, by the
mid-PIT of a count too (C. Czado, T. Gneiting & L. Held, Biometrics 65:1254-1261, 2009).
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from seedbank.science.sowing.emergence import WeightedNodes
from seedbank.science.sowing.patches import NO_PATCHES, Patches
from seedbank.science.sowing.plant_counts import CountSummary, plants_law

_LEAST_CHANCE = 1e-12  # what sums of chances can tell from none


@dataclass(frozen=True, slots=True)
class ForetoldSowing:
    """One sowing: what was known of emergence beforehand, and what came of ``trials`` units."""

    emergence: WeightedNodes
    trials: int
    emerged: int
    patches: Patches = NO_PATCHES


@dataclass(frozen=True, slots=True)
class HeldSowing:
    """One sowing's forecast held against what came: by counts of seed units.

    ``log_score`` is the log of the chance that was given to what came.
    """

    counts: CountSummary
    trials: int
    emerged: int
    log_score: float

    @property
    def error(self) -> float:
        """Actual less predicted emergence, as a fraction."""
        return (self.emerged - self.counts.mean) / self.trials

    @property
    def inside_50(self) -> bool:
        """Whether it lies in the half of the range foretold as likely."""
        return self.counts.likely.low <= self.emerged <= self.counts.likely.high

    @property
    def inside_90(self) -> bool:
        """Whether it lies in the range foretold."""
        return self.counts.range.low <= self.emerged <= self.counts.range.high


def hold_against(sowing: ForetoldSowing) -> HeldSowing:
    """Hold one forecast against its outcome. Raises ``ValueError`` on an impossible count."""
    if not 0 <= sowing.emerged <= sowing.trials or sowing.trials < 1:
        raise ValueError(f"{sowing.emerged} of {sowing.trials} is not possible")
    law = plants_law(sowing.emergence, sowing.trials, sowing.patches)
    came = law.at_least(np.array([sowing.emerged, sowing.emerged + 1]))
    chance = max(float(came[0] - came[1]), _LEAST_CHANCE)
    return HeldSowing(law.summary(), sowing.trials, sowing.emerged, float(np.log(chance)))


@dataclass(frozen=True, slots=True)
class CalibrationBin:
    """Sowings whose foretold share lies from ``low`` up to ``high`` (the last one: up to 1).

    ``foretold`` and ``emerged`` are mean shares, every sowing counting alike; ``error_se`` is the
    standard error of their difference, NaN for a single sowing.
    """

    low: float
    high: float
    sowings: int
    foretold: float
    emerged: float
    error_se: float


def bin_forecasts(held: Sequence[HeldSowing], bins: int = 5) -> tuple[CalibrationBin, ...]:
    """Foretold against actual emergence in ``bins`` of equal width; empty ones are left out."""
    foretold = np.array([one.counts.mean / one.trials for one in held])
    emerged = np.array([one.emerged / one.trials for one in held])
    place = np.minimum((foretold * bins).astype(np.int64), bins - 1)
    found = []
    for number in np.unique(place).tolist():
        at = place == number
        size = int(at.sum())
        error = (emerged - foretold)[at]
        found.append(
            CalibrationBin(
                number / bins,
                (number + 1) / bins,
                size,
                float(foretold[at].mean()),
                float(emerged[at].mean()),
                float(error.std(ddof=1) / np.sqrt(size)) if size > 1 else float("nan"),
            )
        )
    return tuple(found)
