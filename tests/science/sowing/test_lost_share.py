"""Outside checks: quadrature over the two shares apart."""

import numpy as np
import pytest

from seedbank.science.sowing.emergence import (
    BetaShare,
    ShiftLaw,
    WeightedNodes,
    emergence_nodes,
    share_nodes,
)
from seedbank.science.sowing.plant_counts import probability_enough
from seedbank.science.sowing.seedling_losses import lost_share

CASES = [
    (BetaShare(51.95, 0.05), BetaShare(0.8, 9.2)),
    (BetaShare(20.0, 12.0), BetaShare(0.3, 9.7)),
    (BetaShare(9.95, 1.05), BetaShare(4.0, 6.0)),
]


@pytest.mark.parametrize(("ready", "eaten"), CASES)
def test_mean_and_variance_are_those_of_the_product(ready: BetaShare, eaten: BetaShare) -> None:
    awake, taken = share_nodes(ready), share_nodes(eaten)
    lost = 1.0 - awake.value[:, None] * (1.0 - taken.value[None, :])
    weight = awake.weight[:, None] * taken.weight[None, :]
    mean = float((weight * lost).sum())
    variance = float((weight * (lost - mean) ** 2).sum())
    share = lost_share(ready, eaten)
    total = share.alpha + share.beta
    assert share.mean == pytest.approx(mean, abs=1e-12)
    assert share.mean * (1 - share.mean) / (total + 1) == pytest.approx(variance, abs=1e-12)


@pytest.mark.parametrize(("ready", "eaten"), CASES)
def test_the_chance_of_enough_is_near_that_of_the_two_apart(
    ready: BetaShare, eaten: BetaShare
) -> None:
    alive = WeightedNodes(np.array([0.9, 1.3, 1.7]), np.array([0.25, 0.5, 0.25]))
    together = emergence_nodes(alive, ShiftLaw(0.7, 0.3), lost_share(ready, eaten))
    apart = share_nodes(ready)
    for seeds, wanted in ((60, 20), (120, 40)):
        exact = sum(
            float(weight)
            * float(
                probability_enough(
                    emergence_nodes(alive, ShiftLaw(0.7, 0.3), eaten, min(float(share), 1.0)),
                    seeds,
                    wanted,
                )
            )
            for share, weight in zip(apart.value, apart.weight, strict=True)
        )
        assert float(probability_enough(together, seeds, wanted)) == pytest.approx(exact, abs=0.01)


def test_with_nothing_eaten_only_the_sleeping_are_lost() -> None:
    assert lost_share(BetaShare(9.0, 1.0), None) == BetaShare(1.0, 9.0)
