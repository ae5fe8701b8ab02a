"""Simulated gardens to plan for, of any size: plausible, fixed by a seed, not a garden."""

import numpy as np
from scipy.special import ndtr

from seedbank.science.plan.plan_problem import (
    PlanLimits,
    PlanProblem,
    PlanSite,
    PlanVariety,
    Way,
)
from seedbank.science.quantities import FloatArray

DISTANCE = Way("distance")
CAGE = Way("cage", open_air=False, gear="cage", failure=0.05)


def decline(rng: np.random.Generator, start: float, seasons: int) -> FloatArray:
    """Chance that a lot can still raise the parents: its probit margin, worn a year at a time."""
    pace, doubt = rng.uniform(0.15, 0.6), rng.uniform(0.5, 1.0)
    return np.asarray(ndtr((start - pace * np.arange(seasons)) / doubt), dtype=np.float64)


def variety(rng: np.random.Generator, number: int, groups: int, last: int) -> PlanVariety:
    group = number % groups
    lead = 2 if group % 3 == 0 else 1
    return PlanVariety(
        f"variety {number:03d}",
        f"group {group:02d}",
        decline(rng, rng.uniform(0.3, 3.0), last + 1),
        decline(rng, rng.uniform(2.4, 3.2), last + 1),
        weight=float(rng.choice([1.0, 2.0, 4.0], p=[0.6, 0.3, 0.1])),
        failure=float(rng.uniform(0.1, 0.3)),
        ways=(DISTANCE, CAGE),
        distance_m=200.0,
        bed_m2=(float(rng.integers(1, 6)),) * lead,
        work=(0.5, 1.0)[2 - lead :],
        gap=2,
    )


def garden(
    varieties: int = 150,
    groups: int = 30,
    horizon: int = 6,
    cages: float = 3,
    work: float = 50.0,
    seed: int = 1,
    last: int | None = None,
) -> PlanProblem:
    """Two sites far enough apart, a few cages, and more varieties than the work allows.

    ``last``: the season curves reach, the horizon if None.
    """
    rng = np.random.default_rng(seed)
    sites = (
        PlanSite("allotment", 0.9 * varieties, failure=0.05),
        PlanSite("home", 0.5 * varieties),
    )
    return PlanProblem(
        tuple(variety(rng, n, groups, last or horizon) for n in range(varieties)),
        sites,
        PlanLimits(work, (("cage", cages),)),
        horizon,
    )
