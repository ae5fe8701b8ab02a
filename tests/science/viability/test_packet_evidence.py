import numpy as np
import pytest
from scipy.integrate import quad
from scipy.special import log_ndtr, ndtr, ndtri
from scipy.stats import betabinom, norm

from seedbank.science.viability.evidence import GRID
from seedbank.science.viability.packet_evidence import (
    OPTIMISM,
    OPTIMISM_SD,
    RHO,
    SEEDS,
    counts_meant,
    harvest_years_of_packet,
    printed_likelihood,
)


def told(printed_pct: float, minimum_pct: float = np.nan) -> np.ndarray:
    return printed_likelihood(np.array([printed_pct]), np.array([minimum_pct]))[0]


def by_integration(counts: range, v: float) -> float:
    """Chance of such a test: scipy's beta-binomial, the optimism integrated over."""
    shape = (1 - RHO) / RHO

    def chance(optimism: float) -> float:
        p = ndtr(v + optimism)
        of_counts = betabinom.pmf(list(counts), SEEDS, p * shape, (1 - p) * shape).sum()
        return float(of_counts * norm.pdf(optimism, OPTIMISM, OPTIMISM_SD))

    ends = OPTIMISM - 8 * OPTIMISM_SD, OPTIMISM + 8 * OPTIMISM_SD
    return float(np.log(quad(chance, *ends, epsabs=0, epsrel=1e-10, limit=200)[0]))


@pytest.mark.parametrize(
    ("printed", "counts"),
    [(88.0, range(263, 266)), (60.0, range(179, 182)), (99.0, range(296, 299)),
     (100.0, range(299, 301)), (92.4, range(277, 278))],
)  # fmt: skip
def test_a_printed_figure_weighs_as_a_test_of_300_with_optimism_integrated_over(
    printed: float, counts: range
) -> None:
    assert counts_meant(printed).tolist() == list(counts)
    table = told(printed)
    near = np.flatnonzero((table > table.max() - 8.0) & (GRID < 5.0))[::3]  # beyond, 1 - p rounds
    theirs = np.array([by_integration(counts, float(GRID[at])) for at in near])
    off = table[near] - theirs
    assert np.ptp(off) < 1e-3
    assert near.size > 5


@pytest.mark.parametrize("printed", [60.0, 85.0, 99.0])
def test_it_is_worth_seventy_to_a_hundred_seeds_of_ones_own(printed: float) -> None:
    weight = np.exp(told(printed) - told(printed).max())
    mean = float(weight @ GRID / weight.sum())
    sd = float(np.sqrt(weight @ (GRID - mean) ** 2 / weight.sum()))
    p = printed / 100.0
    assert 0.02 < ndtri(p) - mean < OPTIMISM
    worth = p * (1 - p) / norm.pdf(ndtri(p)) ** 2 / sd**2  # seeds of a plain test as sure
    assert 65 < worth < 100


@pytest.mark.parametrize("printed", [0.0, 40.0, 85.0, 99.5, 100.0])
def test_a_table_has_one_peak(printed: float) -> None:
    rises = np.diff(told(printed)) > 1e-9
    assert np.count_nonzero(rises[1:] & ~rises[:-1]) == 0  # once it falls it goes on falling


def test_more_printed_never_lowers_a_belief() -> None:
    figures = np.arange(0.0, 101.0)
    tables = printed_likelihood(figures, np.full(figures.size, np.nan))
    prior = -0.5 * ((GRID - 1.2) / 0.6) ** 2
    weight = np.exp(tables + prior - (tables + prior).max(axis=1, keepdims=True))
    weight /= weight.sum(axis=1, keepdims=True)
    below = np.cumsum(weight, axis=1)
    assert np.all(np.diff(below, axis=0) < 1e-9)


def test_the_legal_minimum_is_a_floor_and_no_measurement() -> None:
    table = told(75.0, 75.0)
    assert table == pytest.approx(log_ndtr((GRID - ndtri(0.75)) / 0.25))
    assert np.all(np.diff(table) >= 0.0)  # however good, it is as likely
    assert told(76.0, 75.0) == pytest.approx(told(76.0))


def test_harvests_of_a_season_and_of_a_day_to_sow_by() -> None:
    assert harvest_years_of_packet(2024, None, None) == pytest.approx(
        {2022: 0.25, 2023: 0.70, 2024: 0.05}
    )
    sow_by = harvest_years_of_packet(None, None, 2026)
    assert sow_by == pytest.approx({2021: 0.1, 2022: 0.25, 2023: 0.3, 2024: 0.25, 2025: 0.1})
    both = harvest_years_of_packet(2024, None, 2026)
    assert sum(both.values()) == pytest.approx(1.0)
    assert both[2023] == pytest.approx(0.7 * 0.3 / (0.25 * 0.25 + 0.7 * 0.3 + 0.05 * 0.25))
    assert harvest_years_of_packet(None, None, None) == {}


def test_nothing_is_packed_before_the_year_it_ripens() -> None:
    autumn = harvest_years_of_packet(None, (2023, 11), None)
    assert autumn == pytest.approx({2022: 0.25 / 0.95, 2023: 0.70 / 0.95})
    spring = harvest_years_of_packet(None, (2024, 2), None)
    assert list(spring) == [2022, 2023, 2024]
    year_alone = harvest_years_of_packet(None, (2023, None), None)
    assert max(year_alone) == 2023
    assert year_alone[2022] == pytest.approx(0.95 / (0.25 + 0.95 + 0.75))
    assert harvest_years_of_packet(2024, (2023, 11), None) == pytest.approx(autumn)


def test_where_the_two_contradict_the_season_tells() -> None:
    assert harvest_years_of_packet(2024, None, 2032) == harvest_years_of_packet(2024, None, None)
