import mpmath
import numpy as np
import pytest
from scipy.special import ndtr
from scipy.stats import betabinom, binom

from seedbank.science.viability.evidence import (
    GRID,
    HIGH,
    LOW,
    EvidenceTables,
    Observations,
    count_likelihood,
)

COUNTS = [(0.0, 20.0, 0.0), (13.0, 20.0, 0.0), (20.0, 20.0, 0.0), (17.0, 25.0, 0.15),
          (0.0, 10.0, 0.012), (50.0, 50.0, 0.012), (380.0, 400.0, 0.003)]  # fmt: skip


def one(viable: float, seeds: float, rho: float) -> np.ndarray:
    return count_likelihood(np.array([viable]), np.array([seeds]), np.array([rho]))


@pytest.mark.parametrize(("viable", "seeds", "rho"), COUNTS)
def test_a_count_is_as_likely_as_scipy_says_up_to_its_coefficient(
    viable: float, seeds: float, rho: float
) -> None:
    near = np.abs(GRID) <= 4.0  # beyond, scipy's own 1 - p rounds
    p = ndtr(GRID[near])
    shape = (1 - rho) / rho if rho else 1.0
    theirs = (
        betabinom.logpmf(viable, seeds, p * shape, (1 - p) * shape)
        if rho
        else binom.logpmf(viable, seeds, p)
    )
    shift = one(viable, seeds, rho)[0, near] - theirs
    assert shift == pytest.approx(np.full(shift.size, shift[0]), abs=1e-7)


def test_chances_at_different_rho_are_comparable() -> None:
    # The same coefficient is left out whatever rho is: all counts together weigh the same.
    for rho in (0.0, 0.003, 0.2):
        k = np.arange(6.0)
        coefficient = np.log(binom.pmf(k, 5, 0.5)) + 5 * np.log(2.0)
        values = count_likelihood(k, np.full(6, 5.0), np.full(6, rho))
        whole = np.exp(values + coefficient[:, None]).sum(axis=0)
        assert whole == pytest.approx(np.ones(GRID.size), abs=1e-9)


def test_far_tails_agree_with_mpmath() -> None:
    mpmath.mp.dps = 40
    exact = 3 * mpmath.log(mpmath.ncdf(LOW)) + 2 * mpmath.log(mpmath.ncdf(-LOW))
    assert one(3.0, 5.0, 0.0)[0, 0] == pytest.approx(float(exact), rel=1e-12)


@pytest.mark.parametrize(("viable", "seeds", "rho"), COUNTS)
def test_between_its_points_a_table_is_the_likelihood_itself(
    viable: float, seeds: float, rho: float
) -> None:
    tables = EvidenceTables.of(one(viable, seeds, rho))
    v = np.linspace(-5.0, 5.0, 4001)
    p, q = ndtr(v), ndtr(-v)
    if rho:
        from scipy.special import betaln

        c = (1 - rho) / rho
        exact = betaln(viable + p * c, seeds - viable + q * c) - betaln(p * c, q * c)
    else:
        exact = viable * np.log(p) + (seeds - viable) * np.log(q)
    seen = exact > exact.max() - 20.0
    off = (tables.at(np.ones(v.size, dtype=np.int64), v) - exact)[seen]
    assert np.ptp(off) < 2e-5


def test_slopes_are_the_derivatives_of_the_values() -> None:
    tables = EvidenceTables.of(one(7.0, 12.0, 0.1))
    v, step = np.linspace(-3.5, 3.5, 29) + 0.013, 1e-5
    table = np.ones(v.size, dtype=np.int64)
    value, slope, curvature = tables.with_slopes(table, v)
    up, down = tables.at(table, v + step), tables.at(table, v - step)
    assert value == pytest.approx(tables.at(table, v))
    assert slope == pytest.approx((up - down) / (2 * step), rel=1e-5, abs=1e-6)
    bend = -(up - 2 * value + down) / step**2
    assert curvature == pytest.approx(bend, rel=1e-2, abs=1e-2)


def test_beyond_its_ends_a_table_goes_straight_on() -> None:
    tables = EvidenceTables.of(one(3.0, 9.0, 0.0))
    at, ends = np.ones(2, dtype=np.int64), np.array([LOW, HIGH])
    further = np.array([-30.0, 30.0])
    value, slope, curvature = tables.with_slopes(at, ends + further)
    at_end, slope_at_end, _ = tables.with_slopes(at, ends)
    assert slope == pytest.approx(slope_at_end)
    assert value == pytest.approx(at_end + further * slope_at_end)
    assert tables.at(at, ends + further) == pytest.approx(value)
    assert curvature.tolist() == [0.0, 0.0]
    assert np.all(value < at_end)


def test_nothing_on_record_says_nothing() -> None:
    nothing = Observations.none(3)
    assert nothing.width == 0
    assert nothing.number.tolist() == [0, 0, 0]
    padded = Observations.of_tests(*(np.zeros((2, 2)) for _ in range(4)))
    assert padded.number.tolist() == [0, 0]
    assert padded.tables.at(padded.table, np.full((2, 2), 0.3)).tolist() == [[0, 0], [0, 0]]


def test_like_tests_share_a_table_and_those_taken_stand_first() -> None:
    tests = Observations.of_tests(
        np.array([[0.1, 0.0, 0.4], [0.2, 0.3, 0.0]]),
        np.array([[9.0, 0.0, 4.0], [4.0, 9.0, 0.0]]),
        np.array([[10.0, 0.0, 20.0], [20.0, 10.0, 0.0]]),
        np.zeros((2, 3)),
    )
    assert tests.table[0, 0] == tests.table[1, 1]
    assert tests.number.tolist() == [2, 2]
    taken = tests.take(np.array([0]))
    assert taken.dose[:, :, 0].tolist() == [[0.1, 0.4]]


@pytest.mark.parametrize("rho", [0.0, 0.012, 0.1])
def test_one_more_seed_alive_is_never_worse_news_of_a_likelier_viability(rho: float) -> None:
    # The ratio of neighbouring counts rises with v, so that no belief falls for one more alive.
    k = np.arange(13.0)
    values = count_likelihood(k, np.full(13, 12.0), np.full(13, rho))
    assert np.all(np.diff(np.diff(values, axis=0), axis=1) >= -1e-9)


def test_evidence_of_two_sorts_is_joined_lot_by_lot() -> None:
    dose = np.array([[0.1, 0.2], [0.3, 0.0], [0.0, 0.0]])
    seeds = np.array([[20.0, 10.0], [20.0, 0.0], [0.0, 0.0]])
    tests = Observations.of_tests(dose, 0.5 * seeds, seeds, np.zeros((3, 2)))
    floor, slope = np.log(ndtr(GRID)), 0.25 * GRID
    of_packet = np.array([[2], [0], [1]])
    packets = Observations(
        np.array([[0.7], [0.0], [0.9]]), of_packet, EvidenceTables.of(np.array([floor, slope]))
    )
    both, v = tests.and_those(packets), np.array([-1.5, 0.25, 2.0])

    def evidence(one: Observations, lot: int) -> dict[float, list[float]]:
        used = np.flatnonzero(one.table[lot])
        return {
            float(one.dose[lot, at, 0]): one.tables.at(one.table[lot, at], v).tolist()
            for at in used
        }

    assert both.number.tolist() == [3, 1, 1]
    assert both.width == 3
    for lot in range(3):
        assert evidence(both, lot) == evidence(tests, lot) | evidence(packets, lot)
    with pytest.raises(ValueError, match="same lots"):
        tests.and_those(Observations.none(2))
