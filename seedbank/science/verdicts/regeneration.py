"""When seed must be grown again, when to look next, and how alive a lot must be to raise parents.

Two yardsticks: the genebank's (viability against 85 % of its start) and the gardener's (can this
lot still give the seed parents wanted).
"""

import numpy as np
import scipy

from seedbank.science.quantities import FloatArray

REGENERATION_SHARE = 0.85
"""Share of initial viability: FAO Genebank Standards 2014, 4.3.4 (clause number from memory)."""

LONGEST_INTERVAL_YEARS = 40.0
"""Cap on the retest interval: FAO Genebank Standards 2014, 4.3.3 (from memory)."""


def regeneration_viability(initial: FloatArray) -> FloatArray:
    """The same limit as a fraction, not rounded: 0.85 x initial viability (0..1).

    FAO Genebank Standards 2014, 4.3.4 (from memory); checked against table 8.2 of Rao et al. 2006.
    """
    return np.asarray(REGENERATION_SHARE * initial, dtype=np.float64)


def retest_interval_years(years_to_limit: FloatArray) -> FloatArray:
    """Years until the next test: a third of the predicted time to the limit, at most 40.

    0 where the limit is already passed; NaN where there is no prediction (use
    ``unpredicted_interval_years``). FAO Genebank Standards 2014, 4.3.3 (from memory).
    """
    third = np.asarray(years_to_limit, dtype=np.float64) / 3
    return np.clip(third, 0.0, LONGEST_INTERVAL_YEARS)


def viability_needed(
    seeds_available: FloatArray, parents_needed: FloatArray, confidence: FloatArray | float
) -> FloatArray:
    """Smallest chance a seed must have so that P(at least ``parents_needed`` plants) is met.

    Smallest p with P(Bin(N, p) >= k) >= ``confidence``: the Clopper & Pearson 1934 (Biometrika
    26:404-413) lower bound read backwards, ``betaincinv(k, N - k + 1, confidence)``. 0 where no
    parent is needed; infinite where there are fewer seeds than parents, which no viability mends.
    Fractions of a seed are dropped. Outside check: scipy's binomial tail. Raises ValueError for a
    confidence outside 0..1 or negative counts.
    """
    seeds = np.floor(np.asarray(seeds_available, dtype=np.float64))
    parents = np.ceil(np.asarray(parents_needed, dtype=np.float64))
    sure = np.asarray(confidence, dtype=np.float64)
    if np.any(~((sure > 0) & (sure < 1))):
        raise ValueError("confidence must lie strictly within 0..1")
    if np.any(seeds < 0) or np.any(parents < 0):
        raise ValueError("seeds and parents must be 0 or more")
    solvable = (parents > 0) & (seeds >= parents)
    k, spare = np.where(solvable, parents, 1.0), np.where(solvable, seeds - parents, 0.0)
    needed = scipy.special.betaincinv(k, spare + 1, sure)
    needed = np.where(parents == 0, 0.0, needed)
    return np.asarray(np.where(seeds < parents, np.inf, needed), dtype=np.float64)


def viability_needed_in_field(needed: FloatArray, shift: FloatArray | float) -> FloatArray:
    """Viability in the towel that gives ``needed`` emergence under a field shift in probits.

    ``Phi(probit(needed) + shift)``, the shift being what the seedbed costs (Ellis & Roberts 1981,
    Seed Sci. Technol. 9:373-409). Impossible needs (over 1) come back as exactly 1, which a
    continuous belief about viability reaches with probability 0, and a need of 0 as 0. Outside
    check: inverse of Phi(v - shift).
    """
    asked = np.clip(np.asarray(needed, dtype=np.float64), 0.0, 1.0)
    return np.asarray(scipy.special.ndtr(scipy.special.ndtri(asked) + shift), dtype=np.float64)
