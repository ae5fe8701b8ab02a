import numpy as np
import pytest
from scipy import stats

from seedbank.science.binomial import binomial_pmf, hypergeometric_pmf


@pytest.mark.parametrize("seeds", [0, 1, 25, 400, 3_000])
@pytest.mark.parametrize("chance", [0.0, 1e-300, 1e-12, 0.03, 0.5, 0.97, 1.0 - 1e-12, 1.0])
def test_binomial_chances_agree_with_scipy_stats(seeds: int, chance: float) -> None:
    count = np.arange(seeds + 1)
    theirs = stats.binom.pmf(count, seeds, chance)
    # Logs of 300 and more lose three digits of the sixteen there are.
    assert binomial_pmf(count, seeds, chance) == pytest.approx(theirs, rel=1e-11, abs=1e-300)


@pytest.mark.parametrize(("seeds", "marked", "drawn"), [(7, 0, 3), (20, 7, 5), (400, 390, 200)])
def test_hypergeometric_chances_agree_with_scipy_stats(seeds: int, marked: int, drawn: int) -> None:
    among = np.arange(drawn + 1)
    theirs = stats.hypergeom.pmf(among, seeds, marked, drawn)
    ours = hypergeometric_pmf(among, seeds, marked, drawn)
    assert ours == pytest.approx(theirs, rel=1e-11, abs=1e-300)
    assert ours.sum() == pytest.approx(1.0)
