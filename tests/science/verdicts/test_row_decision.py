"""Rows: the share of places filled against walked rows, and how the decision moves with seed."""

import numpy as np
import pytest
from scipy.stats import binom

from seedbank.science.verdicts.row_decision import (
    FULL_ROW,
    GOOD_ALIVE,
    GOOD_EMERGENCE,
    THICKEST,
    Rows,
    decide_rows,
    row_crop,
    thickness_step,
)


def rows(alive: float, *, drilled: bool = True, seeds: float = 300.0, plants: float = 60.0) -> Rows:
    return Rows(
        seeds=np.array([seeds]),
        alive=np.full((1, 16), alive),
        seeds_a_plant=np.array([5.0 if drilled else 3.0]),
        plants=np.array([plants]),
        drilled=np.array([drilled]),
    )


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
    got = filled(float(row_crop(rows(alive), np.array([[alive]]), np.ones(1))[0, 0]), 0.5)
    assert got == pytest.approx(min(1.0, left / length), abs=0.03)


@pytest.mark.parametrize("alive", [0.1, 0.5, 0.88])
def test_stations_are_filled_as_counting_says(alive: float) -> None:
    chance = GOOD_EMERGENCE * alive / GOOD_ALIVE
    one = rows(alive, drilled=False)
    got = filled(float(row_crop(one, one.alive[:, :1], np.ones(1))[0, 0]), 0.2)
    assert got == pytest.approx(1.0 - binom.pmf(0, 3, chance))


@pytest.mark.parametrize("drilled", [True, False])
def test_good_seed_is_sown_as_usual_weaker_thicker_and_dead_seed_is_not(drilled: bool) -> None:
    found = [decide_rows(rows(alive, drilled=drilled)) for alive in (0.9, 0.75, 0.55, 0.05)]
    assert [bool(one.thicker[0]) for one in found] == [False, False, True, True]
    assert [bool(one.weak[0]) for one in found] == [False, False, False, True]
    times = [float(one.times[0]) for one in found]
    assert times == sorted(times)
    assert times[0] == 1.0
    assert times[-1] == THICKEST


@pytest.mark.parametrize("drilled", [True, False])
def test_the_crop_rises_with_what_is_alive(drilled: bool) -> None:
    crops = [float(decide_rows(rows(a, drilled=drilled)).crop[0]) for a in np.linspace(0, 0.95, 40)]
    assert np.all(np.diff(crops) >= -1e-3)


def test_the_rows_a_lot_does_are_its_seeds_over_those_of_a_row() -> None:
    found = decide_rows(rows(GOOD_ALIVE, seeds=450.0))
    assert found.row_seeds[0] == pytest.approx(300.0)
    assert found.rows[0] == pytest.approx(1.5)


def test_thickness_is_said_in_steps_and_never_beyond_twice() -> None:
    assert [thickness_step(t) for t in (1.25, 1.5, 1.8, 2.0)] == [
        "little", "half", "nearly-twice", "twice",
    ]  # fmt: skip


def test_shares_out_of_range_are_refused() -> None:
    with pytest.raises(ValueError, match="alive"):
        decide_rows(rows(1.2))
