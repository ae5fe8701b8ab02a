"""Outside checks: sums over dense grids with scipy's binomial and beta-binomial."""

import numpy as np
import pytest
from scipy import stats
from scipy.special import ndtr

from seedbank.science.quantities import FloatArray, ProbitNodes
from seedbank.science.shared_effects import PLACES
from seedbank.science.sowing.emergence import LEFT_BY_FAILURE
from seedbank.science.sowing.field_shift_prior import SowingConditions
from seedbank.science.sowing.patches import Patches
from seedbank.science.sowing.sowing_evidence import SowingRecord, SownCounts, seed_law
from seedbank.science.viability.evidence import GRID

OPEN_ROW = SowingConditions("carrot", "row", "open", 2024, "spring")
RECORDS = [
    SowingRecord(OPEN_ROW, 40, 17),
    SowingRecord(OPEN_ROW, 33, 30, ready=0.95),
    SowingRecord(OPEN_ROW, 300, 0),
    SowingRecord(OPEN_ROW, 2000, 700, patches=Patches(0.06, 20)),
    SowingRecord(OPEN_ROW, 1, 1),
]


def likelihood(record: SowingRecord, chance: FloatArray) -> FloatArray:
    """By scipy, at chances of a unit coming up."""
    if record.correlation == 0.0:
        return np.asarray(stats.binom.pmf(record.emerged, record.trials, chance))
    worth = (1.0 - record.correlation) / record.correlation
    a, b = np.maximum(chance * worth, 1e-12), np.maximum((1.0 - chance) * worth, 1e-12)
    return np.asarray(stats.betabinom.pmf(record.emerged, record.trials, a, b))


def normal_seed(mean: float, sd: float) -> ProbitNodes:
    probit = np.linspace(mean - 6.0 * sd, mean + 6.0 * sd, 1501)
    weight = stats.norm.pdf(probit, mean, sd)
    return ProbitNodes(probit[None], weight[None] / weight.sum())


@pytest.mark.parametrize("record", RECORDS)
@pytest.mark.parametrize("sd", [0.15, 0.4, 1.3])
def test_evidence_on_the_bed_is_the_count_mixed_over_the_seed(
    record: SowingRecord, sd: float
) -> None:
    seed = normal_seed(0.9, sd)
    mean, reach = np.array([0.8]), np.array([2.8])
    found = SownCounts.of([record]).of_bed(seed_law(seed), mean, reach)
    shift = mean[0] + reach[0] * PLACES
    come = record.ready * ndtr(seed.probit[0][:, None] - np.maximum(shift, 0.0))
    risen = seed.weight[0] @ likelihood(record, come)
    failed = seed.weight[0] @ likelihood(record, LEFT_BY_FAILURE * come)
    top = float(found.risen.max())
    assert np.exp(found.risen[0] - top) == pytest.approx(risen / risen.max(), abs=4e-3)
    assert np.exp(found.failed[0] - top) == pytest.approx(failed / risen.max(), rel=0.02, abs=4e-3)


@pytest.mark.parametrize("record", RECORDS)
@pytest.mark.parametrize(("mean", "sd"), [(0.8, 0.4), (0.1, 0.3), (1.4, 0.25)])
def test_evidence_on_the_seed_is_the_count_mixed_over_the_bed(
    record: SowingRecord, mean: float, sd: float
) -> None:
    shift = np.linspace(mean - 7.0 * sd, mean + 7.0 * sd, 4001)
    weight = stats.norm.pdf(shift, mean, sd)
    weight /= weight.sum()
    found = SownCounts.of([record]).of_seed(np.array([0.08]), np.array([mean]), np.array([sd]))[0]
    at = np.arange(100, 480, 10)
    come = record.ready * ndtr(GRID[at][:, None] - np.maximum(shift, 0.0))
    exact = (
        0.92 * likelihood(record, come) + 0.08 * likelihood(record, LEFT_BY_FAILURE * come)
    ) @ weight
    assert np.exp(found[at] - found[at].max()) == pytest.approx(exact / exact.max(), abs=6e-3)


def test_what_was_eaten_frosted_or_dried_out_is_not_bad_seed() -> None:
    whole = SowingRecord(OPEN_ROW, 50, 20)
    raided = SowingRecord(OPEN_ROW, 90, 20, eaten=25, frosted=10, dried_out=5)
    one, other = (SownCounts.of([record]) for record in (whole, raided))
    assert np.array_equal(one.risen, other.risen)
    gone = SownCounts.of([SowingRecord(OPEN_ROW, 50, 0, eaten=50)])
    assert not np.any(gone.risen)


def test_more_come_up_never_speaks_worse_of_the_seed_but_where_the_sowing_may_have_failed() -> None:
    """Three up of thirty is likelier a bed that failed than five are; those speak of the seed."""
    records = [SowingRecord(OPEN_ROW, 30, emerged) for emerged in range(31)]
    size = np.ones(len(records))
    prior = -0.5 * ((GRID - 1.0) / 0.8) ** 2

    def believed(failure: float) -> FloatArray:
        told = SownCounts.of(records).of_seed(failure * size, 1.0 * size, 0.4 * size) + prior
        weight = np.exp(told - told.max(axis=1, keepdims=True))
        return np.asarray(weight @ GRID / weight.sum(axis=1))

    assert np.all(np.diff(believed(1e-9)) > 0.0)
    assert np.all(np.diff(believed(0.08)) > -0.05)
    assert np.all(np.diff(believed(0.08))[6:] > 0.0)


def test_impossible_counts_are_refused() -> None:
    with pytest.raises(ValueError, match="not possible"):
        SowingRecord(OPEN_ROW, 10, 11)
    with pytest.raises(ValueError, match="negative"):
        SowingRecord(OPEN_ROW, 10, 5, eaten=-1)
