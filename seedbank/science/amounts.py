"""How much there may be of what nobody has counted, given what is known to have been taken.

The amount that came is log-normal (our choice); what was taken since can't have been more than
came, and where some is left it was less. Outside check: against draws from the same law, in tests.
"""

from dataclasses import dataclass

import numpy as np
import scipy

from seedbank.science.quantities import FloatArray

SHARES = (1 / 6, 1 / 2, 5 / 6)
"""The quantiles that stand for the whole law, each for a third of it."""


@dataclass(frozen=True, slots=True)
class AmountLaw:
    """Seeds left of U lots, arrays (U,): ``median`` and ``log_sd`` of what came uncounted.

    ``known`` is the sum of all other movements, below 0 where more was taken than was counted in.
    """

    median: FloatArray
    log_sd: FloatArray
    known: FloatArray

    def nodes(self) -> FloatArray:
        """Seeds left, (3, U), at least 1, each as likely as the others."""
        above = self._above(np.maximum(-self.known, 0.0))
        shares = 1.0 - np.array(SHARES)[:, None]
        came = self.median * np.exp(-self.log_sd * scipy.special.ndtri(above * shares))
        return np.maximum(np.round(came + self.known), 1.0)

    def below(self, seeds: float, parts: int) -> FloatArray:
        """Where fewer than ``seeds`` are left: (parts, U) of them, each as likely as the others.

        At least 0, and at least what is known to be there.
        """
        least = self._above(np.maximum(-self.known, 0.0))
        enough = np.minimum(self._above(np.maximum(seeds - self.known, 0.0)), least)
        shares = (np.arange(parts)[:, None] + 0.5) / parts
        above = least + shares * (enough - least)
        came = self.median * np.exp(-self.log_sd * scipy.special.ndtri(above))
        return np.clip(np.floor(came + self.known), 0.0, max(seeds - 1.0, 0.0))

    def chance_of(self, seeds: FloatArray) -> FloatArray:
        """Chance (U,) that at least so many are left."""
        above = self._above(np.maximum(-self.known, 0.0))
        return np.minimum(self._above(np.maximum(seeds - self.known, 0.0)) / above, 1.0)

    def _above(self, seeds: FloatArray) -> FloatArray:
        """Chance that more than so many came."""
        with np.errstate(divide="ignore"):
            away = (np.log(seeds) - np.log(self.median)) / self.log_sd
        return np.asarray(np.maximum(scipy.special.ndtr(-away), 1e-200), dtype=np.float64)
