"""Units that share their luck: the count's probabilities where losses come in patches.

Given the chance p that one unit gives a plant, counts are beta-binomial within each patch of
neighbouring units (intra-class correlation ``rho``) and independent between patches; binomial where
``rho`` is 0. Sums are exact convolutions, through the Fourier transform of the probabilities.

Source: J.G. Skellam, Journal of the Royal Statistical Society B 10:257-261 (1948).

Outside checks: scipy's binomial and beta-binomial, convolution.
"""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import scipy
from numpy.typing import NDArray

from seedbank.science.binomial import log_ways
from seedbank.science.quantities import FloatArray


@dataclass(frozen=True, slots=True)
class Patches:
    """Patchiness: correlation ``rho`` (0..1) within patches of ``units`` neighbouring units.

    ``units=None`` makes the whole sowing one patch.
    """

    rho: float = 0.0
    units: int | None = None

    def __post_init__(self) -> None:
        if not 0.0 <= self.rho < 1.0:
            raise ValueError(f"rho must be at least 0 and below 1, got {self.rho!r}")
        if self.units is not None and self.units < 1:
            raise ValueError(f"a patch has at least one unit, got {self.units!r}")

    def inflation(self, seeds: FloatArray) -> FloatArray:
        """Variance of the count over binomial variance."""
        size = seeds if self.units is None else np.minimum(seeds, self.units)
        return np.asarray(1.0 + (size - 1.0) * self.rho)


NO_PATCHES = Patches()


def patch_pmf(probability: FloatArray, units: int, rho: float) -> FloatArray:
    """Probability of 0..units plants in one patch, shape (K, units + 1); rho > 0."""
    chance = np.clip(probability, 1e-15, 1.0 - 1e-15)[:, None]
    scale = (1.0 - rho) / rho
    # C(n, k) (a)_k (b)_(n - k) / (a + b)_n: rising factorials are sums of logs, no gammas.
    came, failed = _log_rising(chance * scale, units), _log_rising((1.0 - chance) * scale, units)
    whole = _log_rising(np.array([[scale]]), units)[:, -1:]
    return np.asarray(np.exp(_log_ways(units) - whole + came + failed[:, ::-1]))


def _log_rising(start: FloatArray, units: int) -> FloatArray:
    """Logs of start (start + 1) ... (start + k - 1) for k = 0..units, shape (K, units + 1)."""
    log = np.zeros((start.shape[0], units + 1))
    np.cumsum(np.log(start + np.arange(units)), axis=1, out=log[:, 1:])
    return log


@lru_cache(maxsize=64)
def _log_ways(units: int) -> FloatArray:
    return log_ways(units, np.arange(units + 1))


def transform(
    probability: FloatArray, seeds: int, patches: Patches, size: int, damping: float = 1.0
) -> NDArray[np.complex128]:
    """Half-spectrum of the count's probabilities for each p: shape (K, size // 2 + 1).

    With ``damping`` below 1, of the probabilities times its k-th power at count k: counts past
    ``size`` then fold back that much weaker.
    """
    if patches.rho == 0.0:
        turn = damping * np.exp(-2j * np.pi * np.arange(size // 2 + 1) / size)
        return _power(1.0 + probability[:, None] * (turn[None, :] - 1.0), seeds)
    units = seeds if patches.units is None else min(seeds, patches.units)
    if units == 0:
        return np.ones((probability.size, size // 2 + 1), dtype=np.complex128)
    weaker = damping ** np.arange(units + 1)
    full, rest = divmod(seeds, units)
    whole = _power(
        scipy.fft.rfft(patch_pmf(probability, units, patches.rho) * weaker, n=size), full
    )
    if rest:
        last = patch_pmf(probability, rest, patches.rho) * weaker[: rest + 1]
        whole = whole * scipy.fft.rfft(last, n=size)
    return np.asarray(whole)


def _power(base: NDArray[np.complex128], exponent: int) -> NDArray[np.complex128]:
    """Whole power by repeated squaring: several times faster than the complex logarithm."""
    result = np.ones_like(base)
    while exponent:
        if exponent & 1:
            result = result * base
        exponent >>= 1
        if exponent:
            base = base * base
    return result
