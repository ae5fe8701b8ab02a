"""The classic question of two actions, to test by."""

import numpy as np
from scipy.special import ndtr

from seedbank.science.quantities import FloatArray, ProbitNodes


def keep_or_regenerate_losses(
    nodes: ProbitNodes, floor: FloatArray, loss_if_kept: FloatArray, loss_if_renewed: FloatArray
) -> FloatArray:
    """Losses (L, 2, N) of keeping (0) a lot truly under ``floor``, renewing (1) one that is not.

    ``floor`` is a viability fraction (L,); both losses (L,) are in one unit. The classic
    two-action problem; our choice of losses.
    """
    below = ndtr(nodes.probit) < floor[:, None]
    kept = np.where(below, loss_if_kept[:, None], 0.0)
    return np.stack([kept, np.where(below, 0.0, loss_if_renewed[:, None])], axis=1)
