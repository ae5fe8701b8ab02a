"""What a posterior is fitted to: each lot's prior and its tests."""

from dataclasses import dataclass

import numpy as np

from seedbank.science.quantities import FloatArray, IntArray


@dataclass(frozen=True, slots=True)
class Priors:
    """Prior of each lot, shape (L,): K ~ N(ki_mean, ki_sd^2), lam ~ N(0, log_sigma_sd^2)."""

    ki_mean: FloatArray
    ki_sd: FloatArray
    log_sigma_sd: FloatArray

    def check(self) -> None:
        """Raise ValueError unless these are three finite vectors of one length, spreads above 0."""
        shape = self.ki_mean.shape
        if len(shape) != 1 or self.ki_sd.shape != shape or self.log_sigma_sd.shape != shape:
            raise ValueError("priors must be three vectors of one length")
        if not (np.all(self.ki_sd > 0) and np.all(self.log_sigma_sd > 0)):
            raise ValueError("ki_sd and log_sigma_sd must be above 0")
        if not np.all(np.isfinite(self.ki_mean + self.ki_sd + self.log_sigma_sd)):
            raise ValueError("priors must be finite")

    def take(self, lots: IntArray) -> "Priors":
        return Priors(self.ki_mean[lots], self.ki_sd[lots], self.log_sigma_sd[lots])


@dataclass(frozen=True, slots=True)
class Observations:
    """Tests of each lot, shape (L, J), padded with ``seeds == 0``.

    ``dose`` on the test's day, ``viable`` of ``seeds``, ``overdispersion`` the intra-class
    correlation of its replicates (0: binomial).
    """

    dose: FloatArray
    viable: FloatArray
    seeds: FloatArray
    overdispersion: FloatArray

    @classmethod
    def none(cls, lots: int) -> "Observations":
        empty = np.zeros((lots, 0))
        return cls(empty, empty, empty, empty)

    @property
    def width(self) -> int:
        return int(self.seeds.shape[1])

    def check(self, lots: int) -> None:
        """Raise ValueError unless these are four (L, J) arrays of possible counts."""
        shape = self.seeds.shape
        parts = (self.dose, self.viable, self.overdispersion)
        if len(shape) != 2 or shape[0] != lots or any(part.shape != shape for part in parts):
            raise ValueError(f"observations must be four (L, J) arrays with L = {lots}")
        if np.any(self.viable < 0) or np.any(self.viable > self.seeds):
            raise ValueError("viable must lie between 0 and seeds")
        if np.any(self.dose < 0) or not np.all(np.isfinite(self.dose)):
            raise ValueError("dose must be finite and not negative")
        if np.any(self.overdispersion < 0) or np.any(self.overdispersion >= 1):
            raise ValueError("overdispersion must lie in [0, 1)")

    def take(self, lots: IntArray, width: int) -> "Observations":
        """The first ``width`` tests of some lots, used ones first."""
        used_first = np.argsort(self.seeds[lots] <= 0, axis=1, kind="stable")[:, :width]
        return Observations(
            np.take_along_axis(self.dose[lots], used_first, axis=1),
            np.take_along_axis(self.viable[lots], used_first, axis=1),
            np.take_along_axis(self.seeds[lots], used_first, axis=1),
            np.take_along_axis(self.overdispersion[lots], used_first, axis=1),
        )
