"""Rows: the share of places filled against walked rows, and how the decision moves with seed."""

import numpy as np
import pytest
from scipy.stats import binom

from seedbank.science.sowing.crop_filling import WAYS
from seedbank.science.sowing.lot_thickness import UsualRates
from seedbank.science.verdicts.row_decision import (
    FULL_ROW,
    GOOD_ALIVE,
    GOOD_EMERGENCE,
    Rows,
    alive_levels,
    decide_rows,
    row_crop,
)


def rows(alive: float, *, drilled: bool = True, seeds: float = 300.0, plants: float = 60.0) -> Rows:
    return Rows(
        seeds=np.array([seeds]),
        alive=np.full((1, 16), alive),
        plants=np.array([plants]),
        usual=usual(drilled=drilled),
    )


def usual(*, drilled: bool) -> UsualRates:
    low, high, most, good = (3.0, 8.0, 10.0, 5.0) if drilled else (2.0, 3.0, 5.0, 3.0)
    way = WAYS.index("drilled" if drilled else "station")
    return UsualRates(np.array([way]), *(np.array([one]) for one in (low, high, most, good)))


def filled(crop: float, gaps_grown_over: float) -> float:
    """Places filled, from the crop they give."""
    return crop / (1.0 + gaps_grown_over * (1.0 - crop))


@pytest.mark.parametrize("alive", [0.2, 0.4, 0.7])
def test_a_thinned_row_has_the_plants_of_a_walked_one(alive: float) -> None:
    """Seedlings at random; the next one left stands at least 0.6 of the distance on."""
    density = FULL_ROW * alive / GOOD_ALIVE
    draw = np.random.default_rng(7)
    length = 4000.0
    at = np.sort(draw.uniform(0.0, length, draw.poisson(density * length)))
    left, last = 0, -1.0
    for place in at:
        if place >= last + 0.6:
            left, last = left + 1, place
    got = filled(float(row_crop(rows(alive), np.array([[alive]]), np.array([5.0]))[0, 0]), 0.5)
    assert got == pytest.approx(min(1.0, left / length), abs=0.03)


@pytest.mark.parametrize("alive", [0.1, 0.5, 0.88])
def test_stations_are_filled_as_counting_says(alive: float) -> None:
    chance = GOOD_EMERGENCE * alive / GOOD_ALIVE
    one = rows(alive, drilled=False)
    got = filled(float(row_crop(one, one.alive[:, :1], np.array([3.0]))[0, 0]), 0.2)
    assert got == pytest.approx(1.0 - binom.pmf(0, 3, chance))


@pytest.mark.parametrize(
    ("drilled", "thicker"), [(True, [False, True, True, True]), (False, [False, True, True, True])]
)
def test_good_seed_is_sown_as_usual_weaker_thicker_and_dead_seed_is_not(
    drilled: bool, thicker: list[bool]
) -> None:
    found = [decide_rows(rows(alive, drilled=drilled)) for alive in (0.9, 0.75, 0.55, 0.05)]
    assert [bool(one.thicker[0]) for one in found] == thicker
    assert [bool(one.weak[0]) for one in found] == [False, False, False, True]
    times = [float(one.times[0]) for one in found]
    assert times == sorted(times)
    assert times[-1] == pytest.approx(2.0 if drilled else 5.0 / 3.0)  # the most practice allows


@pytest.mark.parametrize("drilled", [True, False])
def test_the_levels_told_are_those_at_which_the_decision_turns(drilled: bool) -> None:
    thicker, weak = alive_levels(usual(drilled=drilled), 60.0)
    assert 0.0 < weak < thicker < 0.9
    for level, what in ((thicker, "thicker"), (weak, "weak")):
        under, over = (decide_rows(rows(level + d, drilled=drilled)) for d in (-0.002, 0.002))
        assert getattr(under, what)[0]
        assert not getattr(over, what)[0]


@pytest.mark.parametrize("drilled", [True, False])
def test_the_crop_rises_with_what_is_alive(drilled: bool) -> None:
    crops = [float(decide_rows(rows(a, drilled=drilled)).crop[0]) for a in np.linspace(0, 0.95, 40)]
    assert np.all(np.diff(crops) >= -1e-3)


def test_the_rows_a_lot_does_are_its_seeds_over_those_of_a_row() -> None:
    found = decide_rows(rows(GOOD_ALIVE, seeds=450.0))
    assert found.row_seeds[0] == pytest.approx(300.0, rel=0.12)
    assert found.rows[0] == pytest.approx(450.0 / found.row_seeds[0])


def test_shares_out_of_range_are_refused() -> None:
    with pytest.raises(ValueError, match="alive"):
        decide_rows(rows(1.2))
