import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from seedbank.common.catalogue import text_of
from seedbank.science.germination.germination import (
    SeedClasses,
    evaluate_interim,
    evaluate_test,
    seed_classes,
)
from seedbank.science.germination.proportion import proportion_interval
from seedbank.science.germination.replicates import Rule, ToleranceTable


def agreeing() -> SeedClasses:
    return seed_classes(
        seeds_set=[20, 20], normal=[15, 14], abnormal=[1, 2], hard=[2, 1], fresh=[1, 1], dead=[1, 2]
    )


def only_normal(normal: list[int], seeds: list[int]) -> SeedClasses:
    none = [0] * len(seeds)
    dead = list(np.subtract(seeds, normal))
    return seed_classes(seeds, normal, none, none, none, dead)


def test_each_class_is_a_share_of_the_seeds_set() -> None:
    result = evaluate_test(agreeing())
    assert result.germination.fraction == pytest.approx(29 / 40)
    # Viability = normal + fresh + hard = 29 + 2 + 3.
    assert result.viability.fraction == pytest.approx(34 / 40)
    assert result.abnormal_fraction == pytest.approx(3 / 40)
    assert result.hard_fraction == pytest.approx(3 / 40)
    assert result.fresh_fraction == pytest.approx(2 / 40)
    assert result.dead_fraction == pytest.approx(3 / 40)


def test_agreeing_replicates_give_the_jeffreys_interval_and_no_correlation() -> None:
    result = evaluate_test(agreeing(), level=0.9)
    jeffreys = proportion_interval(29, 40, 0.9)
    assert result.germination.agreement.agrees
    assert result.germination.rho == 0.0
    assert result.germination.interval.low == pytest.approx(jeffreys.low, abs=1e-6)
    assert result.germination.interval.high == pytest.approx(jeffreys.high, abs=1e-6)


def test_disagreeing_replicates_widen_the_interval_and_say_so() -> None:
    result = evaluate_test(only_normal([19, 8], [20, 20]))
    jeffreys = proportion_interval(27, 40, 0.9)
    assert not result.germination.agreement.agrees
    assert result.germination.rho > 0.1
    assert result.germination.interval.low < jeffreys.low
    assert result.germination.interval.high > jeffreys.high
    assert any("more than chance" in text_of(one) for one in result.cautions)


def test_replicates_may_disagree_on_germination_yet_agree_on_viability() -> None:
    # The second replicate is full of hard seed, not of dead seed.
    classes = seed_classes([20, 20], [19, 8], [0, 0], [0, 11], [0, 0], [1, 1])
    result = evaluate_test(classes)
    assert not result.germination.agreement.agrees
    assert result.viability.agreement.agrees


def test_minimum_is_compared_with_the_jeffreys_posterior() -> None:
    result = evaluate_test(only_normal([30, 31], [40, 40]), minimum=0.7)
    assert result.minimum is not None
    # Beta(61.5, 19.5) is the Jeffreys posterior of 61 of 80.
    assert result.minimum.probability_at_least == pytest.approx(
        stats.beta.sf(0.7, 61.5, 19.5), abs=1e-6
    )
    assert result.minimum.reached


def test_hard_seed_counts_toward_the_minimum_only_for_kinds_marked_hard() -> None:
    # 7 CFR 201.31 (read): hard seed is added to germination for the minimum standard.
    plain = evaluate_test(agreeing(), minimum=0.75).minimum
    marked = evaluate_test(agreeing(), minimum=0.75, hard_counts=True).minimum
    assert plain is not None
    assert marked is not None
    assert (plain.counted_fraction, plain.reached) == (29 / 40, False)
    assert (marked.counted_fraction, marked.reached) == (32 / 40, True)
    assert marked.probability_at_least == pytest.approx(stats.beta.sf(0.75, 32.5, 8.5), abs=1e-6)


def test_published_tolerance_is_used_for_replicates_of_a_hundred() -> None:
    # 7 CFR 201.55 (read): average 90 %, four replicates: 12 points allowed.
    table = ToleranceTable(
        np.array([90.0]), np.array([11.0]), {4: np.array([12.0])}, "7 CFR 201.55"
    )
    result = evaluate_test(only_normal([83, 96, 91, 90], [100] * 4), table=table)
    assert result.germination.agreement.rule is Rule.TABLE
    assert not result.germination.agreement.agrees


def test_an_unfinished_test_is_refused_but_has_an_interim_reading() -> None:
    classes = seed_classes([20, 20], [12, 10], [0, 1], [0, 0], [0, 0], [1, 2])
    with pytest.raises(ValueError, match="14 seeds are not judged"):
        evaluate_test(classes)
    interim = evaluate_interim(classes)
    assert interim.undecided == 14
    assert interim.germination_interval.low == proportion_interval(22, 40, 0.9).low
    assert interim.germination_interval.high == proportion_interval(36, 40, 0.9).high


def test_a_small_replicate_that_contradicts_a_large_one_moves_the_interval_off_the_fraction() -> (
    None
):
    result = evaluate_test(only_normal([200, 0], [200, 5]))
    assert result.germination.interval.high < result.germination.fraction
    assert any("go by the interval" in text_of(one) for one in result.cautions)


def test_a_few_seeds_bring_a_caution() -> None:
    assert any(
        "uncertain" in text_of(one) for one in evaluate_test(only_normal([6], [10])).cautions
    )
    assert evaluate_test(only_normal([180], [200])).cautions == ()


@pytest.mark.parametrize("normal", [0, 20])
def test_none_or_all_germinated_reaches_the_edge(normal: int) -> None:
    interval = evaluate_test(only_normal([normal], [20])).germination.interval
    assert (interval.low == 0.0) == (normal == 0)
    assert (interval.high == 1.0) == (normal == 20)


@pytest.mark.parametrize(
    ("counts", "message"),
    [
        (([20], [21], [0], [0], [0], [0]), "more seeds judged than set in replicate 1"),
        (([20], [-1], [0], [0], [0], [0]), "none negative"),
        (([20], [1.5], [0], [0], [0], [0]), "whole seeds"),
        (([0], [0], [0], [0], [0], [0]), "at least one seed"),
        (([20, 20], [1], [0], [0], [0], [0]), "one count a replicate"),
        (([], [], [], [], [], []), "one count a replicate"),
    ],
)
def test_impossible_totals_are_refused(counts: tuple[list[float], ...], message: str) -> None:
    with pytest.raises(ValueError, match=message):
        seed_classes(*counts)


def test_a_minimum_in_percent_is_refused() -> None:
    with pytest.raises(ValueError, match=r"fraction 0\.\.1"):
        evaluate_test(agreeing(), minimum=75)


replicate = st.lists(st.integers(0, 12), min_size=5, max_size=5).filter(lambda c: sum(c) > 0)


@settings(max_examples=50, deadline=None)
@given(st.lists(replicate, min_size=1, max_size=4), st.floats(0, 1))
def test_viability_is_never_below_germination_and_classes_add_up(
    replicates: list[list[int]], minimum: float
) -> None:
    normal, abnormal, hard, fresh, dead = np.array(replicates).T
    seeds = np.array(replicates).sum(axis=1)
    result = evaluate_test(
        seed_classes(seeds, normal, abnormal, hard, fresh, dead), minimum=minimum, hard_counts=True
    )
    shares = [
        result.germination.fraction,
        result.abnormal_fraction,
        result.hard_fraction,
        result.fresh_fraction,
        result.dead_fraction,
    ]
    assert sum(shares) == pytest.approx(1.0)
    assert result.viability.fraction >= result.germination.fraction
    for estimate in (result.germination, result.viability):
        assert 0.0 <= estimate.interval.low < estimate.interval.high <= 1.0
        # Uneven replicates weigh nearly alike whatever their size, so their pooled fraction may
        # fall outside.
        if estimate.agreement.agrees:
            assert estimate.interval.low <= estimate.fraction <= estimate.interval.high
    assert result.minimum is not None
    assert 0.0 <= result.minimum.probability_at_least <= 1.0


@settings(max_examples=50, deadline=None)
@given(st.integers(0, 30), st.integers(0, 30))
def test_interim_reading_holds_whatever_the_test_ends_in(normal: int, later: int) -> None:
    undecided = 30 - min(normal, 30)
    interim = evaluate_interim(seed_classes([30], [normal], [0], [0], [0], [0]))
    final = evaluate_test(only_normal([normal + min(later, undecided)], [30])).germination
    assert interim.germination_interval.low <= final.fraction <= interim.germination_interval.high
    assert interim.germination_interval.low <= final.interval.low + 1e-6
    assert interim.germination_interval.high >= final.interval.high - 1e-6
