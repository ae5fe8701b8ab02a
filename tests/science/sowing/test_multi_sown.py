"""Several plants to a cell, against counting each outcome."""

import numpy as np
import pytest
from scipy.stats import betabinom

from seedbank.science.sowing.emergence import WeightedNodes
from seedbank.science.sowing.multi_sown import multi_sown, usual_together

RHO = 0.03


def known(chance: float) -> WeightedNodes:
    return WeightedNodes(np.array([chance]), np.ones(1))


@pytest.mark.parametrize(("chance", "together"), [(0.85, 4), (0.6, 4), (0.95, 6), (0.4, 3)])
def test_the_number_sown_misses_the_plants_wanted_by_the_least(
    chance: float, together: int
) -> None:
    def missed(units: int) -> float:
        scale = (1.0 - RHO) / RHO
        law = betabinom(units, chance * scale, (1.0 - chance) * scale)
        return sum(
            law.pmf(up) * (abs(up - together) + 0.05 * max(up - together, 0))
            for up in range(units + 1)
        )

    sown = multi_sown(known(chance), together, 15, RHO)
    assert sown.units == min(range(1, 16), key=missed)
    scale = (1.0 - RHO) / RHO
    law = betabinom(sown.units, chance * scale, (1.0 - chance) * scale)
    assert sown.mean == pytest.approx(law.mean())
    assert sown.empty == pytest.approx(law.pmf(0))
    assert law.cdf(sown.high) - law.cdf(sown.low - 1) >= 0.9


def test_weaker_seed_is_sown_thicker_and_never_past_the_most() -> None:
    units = [multi_sown(known(chance), 4, 7, RHO).units for chance in (0.95, 0.8, 0.6, 0.4, 0.2)]
    assert units == sorted(units)
    assert units[0] < units[-1] == 7


def test_leeks_printed_at_four_to_five_a_cell_stand_in_fours() -> None:
    # 4-5 a cell (printed); of a good lot some 85 of 100 come up indoors.
    assert usual_together(4, 5, 0.85) == 4
    assert multi_sown(known(0.85), 4, 7, RHO).units in (4, 5)


def test_a_cluster_counts_for_its_seedlings() -> None:
    single, cluster = (multi_sown(known(0.8), 4, 9, RHO, each) for each in (1.0, 1.8))
    assert cluster.units < single.units


def test_nothing_is_no_clump() -> None:
    with pytest.raises(ValueError, match="need plants"):
        multi_sown(known(0.8), 0, 5, RHO)
