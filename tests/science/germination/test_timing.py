import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from seedbank.science.germination.timing import GerminationTiming, germination_timing


def timed(days: list[float], new: list[int]) -> GerminationTiming:
    timing = germination_timing(days, new)
    assert timing is not None
    return timing


def test_hand_worked_example() -> None:
    # Formulas: Ranal & Santana 2006, Rev. Bras. Bot. 29:1-11; Coolbear et al. 1984, J. Exp. Bot.
    # 35:1609-1617 (both from memory); arithmetic here.
    # Days 2, 4, 6, 8; new 4, 10, 5, 1; N = 20; running 4, 14, 19, 20.
    # mean = (8 + 40 + 30 + 8) / 20 = 86 / 20 = 4.3
    # sum n (t - 4.3)^2 = 4*5.29 + 10*0.09 + 5*2.89 + 1*13.69 = 21.16 + 0.9 + 14.45 + 13.69 = 50.2
    # sd = sqrt(50.2 / 19) = 1.62546
    # half: (20 + 1)/2 = 10.5 -> 2 + (10.5 - 4) * 2 / 10 = 3.3
    # quarter: 5.25 -> 2 + 1.25 * 2 / 10 = 2.25; three quarters: 15.75 -> 4 + 1.75 * 2 / 5 = 4.7
    timing = timed([2, 4, 6, 8], [4, 10, 5, 1])
    assert timing.germinated == 20
    assert timing.mean_days == pytest.approx(4.3)
    assert timing.sd_days == pytest.approx(1.62546, abs=5e-6)
    assert timing.half_days == pytest.approx(3.3)
    assert timing.half_between_days == (2.0, 4.0)
    assert timing.quarter_days == pytest.approx(2.25)
    assert timing.three_quarter_days == pytest.approx(4.7)
    assert timing.middle_half_days == pytest.approx(2.45)


def test_more_than_half_at_the_first_count_is_interpolated_from_the_start() -> None:
    # N = 10, wanted 5.5 of the first 8 at day 4: 5.5 * 4 / 8 = 2.75.
    timing = timed([4, 7], [8, 2])
    assert timing.half_days == pytest.approx(2.75)
    assert timing.half_between_days == (0.0, 4.0)


def test_counts_with_nothing_new_change_nothing_but_the_bracket() -> None:
    plain, idle = timed([3, 9], [5, 5]), timed([3, 6, 9], [5, 0, 5])
    assert idle.mean_days == plain.mean_days
    assert idle.half_between_days == (6.0, 9.0)


def test_a_single_seed_has_a_time_but_no_spread() -> None:
    timing = timed([5], [1])
    assert (timing.mean_days, timing.sd_days, timing.half_days) == (5.0, None, 5.0)
    assert timing.middle_half_days == 0.0


def test_nothing_germinated_has_no_timing() -> None:
    assert germination_timing([4, 8], [0, 0]) is None
    assert germination_timing([], []) is None


@pytest.mark.parametrize(
    ("days", "new", "message"),
    [
        ([4, 4], [1, 1], "rising"),
        ([8, 4], [1, 1], "rising"),
        ([0, 4], [1, 1], "above 0"),
        ([4], [-1], "none negative"),
        ([4], [0.5], "whole seeds"),
        ([4, 5], [1], "one count a day"),
    ],
)
def test_impossible_counts_are_refused(days: list[float], new: list[float], message: str) -> None:
    with pytest.raises(ValueError, match=message):
        germination_timing(days, new)


dated = st.lists(
    st.tuples(st.integers(1, 40), st.integers(0, 30)),
    min_size=1,
    max_size=10,
    unique_by=lambda c: c[0],
).filter(lambda counts: sum(n for _, n in counts) > 1)


@given(dated)
def test_mean_and_spread_agree_with_the_seeds_written_out(counts: list[tuple[int, int]]) -> None:
    days, new = np.array(sorted(counts)).T
    seeds = np.repeat(days, new)
    timing = timed(days, new)
    assert timing.mean_days == pytest.approx(float(np.average(days, weights=new)))
    assert timing.sd_days == pytest.approx(float(np.std(seeds, ddof=1)), abs=1e-9)


@given(dated)
def test_quantiles_agree_with_numpy_interpolation(counts: list[tuple[int, int]]) -> None:
    days, new = np.array(sorted(counts)).T
    keep = new > 0  # numpy.interp needs rising counts; start each rise where the last count was
    timing = timed(days, new)
    running = np.concatenate([[0], np.cumsum(new)])
    times = np.concatenate([[0], days])
    rising = np.flatnonzero(keep)
    grid_n = np.concatenate([[running[i], running[i + 1] - 1e-9] for i in rising] + [[running[-1]]])
    grid_t = np.concatenate([[times[i], times[i + 1]] for i in rising] + [[times[rising[-1] + 1]]])
    wanted = (new.sum() + 1) / 2
    if not np.any(np.isclose(wanted, running)):
        assert timing.half_days == pytest.approx(float(np.interp(wanted, grid_n, grid_t)), abs=1e-6)
    assert timing.quarter_days <= timing.half_days <= timing.three_quarter_days
    assert timing.half_between_days[0] <= timing.half_days <= timing.half_between_days[1]


@given(dated, st.integers(1, 30))
def test_a_later_start_moves_the_mean_by_as_much(counts: list[tuple[int, int]], delay: int) -> None:
    days, new = np.array(sorted(counts)).T
    assert timed(days + delay, new).mean_days == pytest.approx(timed(days, new).mean_days + delay)
