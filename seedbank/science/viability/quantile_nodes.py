"""A coarse distribution from five quantiles, for screening many lots at once."""

import numpy as np
from scipy.special import ndtri

from seedbank.science.quantities import FloatArray, ProbitNodes
from seedbank.science.testing.test_plan import equal_weight_nodes

QUANTILES = (0.05, 0.25, 0.5, 0.75, 0.95)
_NODES = 16


def nodes_from_quantiles(probits: FloatArray) -> ProbitNodes:
    """16 nodes of equal weight from probit quantiles (L, 5) at ``QUANTILES``.

    Between the quantiles, and beyond them with the last slope, the probit follows the normal score
    in straight lines: exact for a normal distribution. Our choice for screening; outside check:
    moments of a normal and of a posterior's own nodes.
    """
    known = ndtri(np.array(QUANTILES))
    level = ndtri((np.arange(_NODES) + 0.5) / _NODES)
    piece = np.clip(np.searchsorted(known, level) - 1, 0, known.size - 2)
    share = (level - known[piece]) / (known[piece + 1] - known[piece])
    nodes = probits[:, piece] + share * (probits[:, piece + 1] - probits[:, piece])
    return equal_weight_nodes(nodes)
