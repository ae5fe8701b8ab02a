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

from seedbank.science.emergence import WeightedNodes
from seedbank.science.plant_counts import NO_PATCHES, Patches, plants_pmf, summarise_counts
from seedbank.science.quantities import FloatArray


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


def judge_emergence_forecasts(sowings: Sequence[ForetoldSowing]) -> EmergenceCalibration:
    """Calibration over ``sowings``; NaN shares when there are none."""
    if not sowings:
        nan = float("nan")
        return EmergenceCalibration(0, nan, nan, nan, np.zeros(0))
    inside_50, inside_90, errors, pit = [], [], [], []
    for sowing in sowings:
        if not 0 <= sowing.emerged <= sowing.trials or sowing.trials < 1:
            raise ValueError(f"{sowing.emerged} of {sowing.trials} is not possible")
        pmf = plants_pmf(sowing.emergence, sowing.trials, sowing.patches)
        told = summarise_counts(pmf)
        inside_50.append(told.likely.low <= sowing.emerged <= told.likely.high)
        inside_90.append(told.range.low <= sowing.emerged <= told.range.high)
        errors.append((sowing.emerged - told.mean) / sowing.trials)
        pit.append(float(pmf[: sowing.emerged].sum() + 0.5 * pmf[sowing.emerged]))
    return EmergenceCalibration(
        len(sowings),
        float(np.mean(inside_50)),
        float(np.mean(inside_90)),
        float(np.mean(errors)),
        np.array(pit),
    )
