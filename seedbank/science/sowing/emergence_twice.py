"""What is known of the chance of coming up in two sowings of one lot in one season.

The lot and what garden, kind and season cost are shared by both; a sowing's own luck, outright
failure and pests are fresh each time. Integrated over a grid of chances: ``joint`` (E, E) is the
probability of each pair, symmetric, and its margin what is known of either.

Outside check: both margins are ``emergence_nodes``'; the correlation by simulation.
"""

from dataclasses import dataclass

import numpy as np

from seedbank.science.quantities import FloatArray, standard_normal_nodes
from seedbank.science.sowing.emergence import (
    LEFT_BY_FAILURE,
    BetaShare,
    ShiftLaw,
    WeightedNodes,
    emergence_probability,
    share_nodes,
)

_GRID = 40
_SHARED, _OWN, _PESTS = 9, 7, 4
_LOT_NODES = 40


@dataclass(frozen=True, slots=True)
class EmergenceTwice:
    """Chances ``value`` (E,), rising; ``joint`` (E, E) of the first and the second sowing's."""

    value: FloatArray
    joint: FloatArray

    @property
    def weight(self) -> FloatArray:
        return np.asarray(self.joint.sum(axis=1))

    @property
    def mean(self) -> float:
        return float(self.value @ self.weight)


def emergence_twice(
    viability: WeightedNodes, law: ShiftLaw, pest: BetaShare | None = None, ready: float = 1.0
) -> EmergenceTwice:
    """From a lot's viability in probits and a bed; ``law.own_sd`` is fresh each time."""
    lot = fewer_nodes(viability)
    shared_sd = float(np.sqrt(max(law.sd**2 - law.own_sd**2, 0.0)))
    common, common_weight = _normal(shared_sd, _SHARED)
    own, own_weight = _normal(law.own_sd, _OWN)
    eaten = share_nodes(pest, _PESTS)
    shift = law.mean + common[:, None] + own[None, :]
    up = emergence_probability(lot.value[:, None, None], shift[None], ready)
    left = np.array([1.0, LEFT_BY_FAILURE])[:, None] * (1.0 - eaten.value)
    failing = np.array([1.0 - law.failure, law.failure])[:, None] * eaten.weight
    chance = up[..., None] * left.ravel()
    weight = own_weight[:, None] * failing.ravel()
    given = lot.weight[:, None] * common_weight
    rows = given.size
    grid = np.sin(np.linspace(0.0, np.pi / 2.0, _GRID)) ** 2
    each = _on_grid(
        grid, chance.reshape(rows, -1), np.broadcast_to(weight.ravel(), (rows, weight.size))
    )
    return EmergenceTwice(grid, each.T @ (given.reshape(-1, 1) * each))


def _normal(sd: float, count: int) -> tuple[FloatArray, FloatArray]:
    if sd == 0.0:
        return np.zeros(1), np.ones(1)
    point, weight = standard_normal_nodes(count)
    return sd * point, weight


def fewer_nodes(nodes: WeightedNodes, most: int = _LOT_NODES) -> WeightedNodes:
    """At most ``most`` nodes over probits: neighbours drawn together, mean and total kept."""
    if nodes.value.size <= most:
        return nodes
    low, high = float(nodes.value.min()), float(nodes.value.max())
    cell = np.minimum(
        ((nodes.value - low) / max(high - low, 1e-12) * most).astype(np.int64), most - 1
    )
    total = np.asarray(np.bincount(cell, nodes.weight, most), dtype=np.float64)
    used = total > 0.0
    centre = np.bincount(cell, nodes.weight * nodes.value, most)[used] / total[used]
    return WeightedNodes(centre, total[used])


def _on_grid(grid: FloatArray, chance: FloatArray, weight: FloatArray) -> FloatArray:
    """Each row's weight (rows, N) shared out between the two points next to its chance."""
    above = np.clip(np.searchsorted(grid, chance), 1, grid.size - 1)
    part = (chance - grid[above - 1]) / (grid[above] - grid[above - 1])
    start = grid.size * np.arange(chance.shape[0])[:, None]
    size = chance.shape[0] * grid.size
    found = np.bincount((start + above).ravel(), (weight * part).ravel(), size)
    found += np.bincount((start + above - 1).ravel(), (weight * (1.0 - part)).ravel(), size)
    return np.asarray(found.reshape(chance.shape[0], grid.size))
