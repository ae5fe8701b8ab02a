"""How well emergence was foretold: predicted against actual over finished sowings.

Predictions must be made without the sowing they judge (``predict_each_without_itself``, or as
recorded before sowing). The randomised-free mid-PIT of a count is used, so a perfect forecaster
has mean 1/2 and intervals holding at least their level. Source: C. Czado, T. Gneiting & L. Held,
Biometrics 65:1254-1261 (2009).

Outside check: forecasts drawn from the model are calibrated, hopeful ones are found out.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from seedbank.science.quantities import FloatArray, Interval
from seedbank.science.sowing.emergence import WeightedNodes
from seedbank.science.sowing.patches import NO_PATCHES, Patches
from seedbank.science.sowing.plant_counts import CountSummary, plants_law


@dataclass(frozen=True, slots=True)
class ForetoldSowing:
    """One sowing: what was known of emergence beforehand, and what came of ``trials`` units."""

    emergence: WeightedNodes
    trials: int
    emerged: int
    patches: Patches = NO_PATCHES


@dataclass(frozen=True, slots=True)
class EmergenceCalibration:
    """Share of sowings inside the 50 % and 90 % intervals, mid-PIT values (N,), mean error.

    ``mean_error`` is actual less predicted emergence as a fraction: negative means too hopeful.
    """

    sowings: int
    inside_50: float
    inside_90: float
    mean_error: float
    pit: FloatArray


@dataclass(frozen=True, slots=True)
class HeldSowing:
    """One sowing's forecast held against what came: its counts, and the mid-PIT of the outcome."""

    counts: CountSummary
    trials: int
    emerged: int
    pit: float

    @property
    def error(self) -> float:
        """Actual less predicted emergence, as a fraction."""
        return (self.emerged - self.counts.mean) / self.trials


def hold_against(sowing: ForetoldSowing) -> HeldSowing:
    """Hold one forecast against its outcome. Raises ``ValueError`` on an impossible count."""
    if not 0 <= sowing.emerged <= sowing.trials or sowing.trials < 1:
        raise ValueError(f"{sowing.emerged} of {sowing.trials} is not possible")
    law = plants_law(sowing.emergence, sowing.trials, sowing.patches)
    reached, passed = law.at_least(np.array([sowing.emerged, sowing.emerged + 1])).tolist()
    pit = 1.0 - 0.5 * (reached + passed)
    return HeldSowing(law.summary(), sowing.trials, sowing.emerged, pit)


def calibrate(held: Sequence[HeldSowing]) -> EmergenceCalibration:
    """Calibration over sowings already held against their outcomes; NaN shares without any."""
    if not held:
        nan = float("nan")
        return EmergenceCalibration(0, nan, nan, nan, np.zeros(0))

    def share(spans: list[Interval]) -> float:
        pairs = zip(spans, held, strict=True)
        return float(np.mean([span.low <= one.emerged <= span.high for span, one in pairs]))

    return EmergenceCalibration(
        len(held),
        share([one.counts.likely for one in held]),
        share([one.counts.range for one in held]),
        float(np.mean([one.error for one in held])),
        np.array([one.pit for one in held]),
    )


def judge_emergence_forecasts(sowings: Sequence[ForetoldSowing]) -> EmergenceCalibration:
    """Calibration over ``sowings``; NaN shares when there are none."""
    return calibrate([hold_against(sowing) for sowing in sowings])


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
