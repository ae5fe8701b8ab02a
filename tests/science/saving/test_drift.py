"""Drift against printed examples, exact binomial sampling and simulations with fixed seeds."""

from collections.abc import Sequence

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import binom

from seedbank.common.catalogue import text_of
from seedbank.science.crossing.crossing_risk import Mating
from seedbank.science.saving.drift import (
    PedigreeDrift,
    drift_cautions,
    effective_with_selfing,
    pedigree_drift,
    pedigree_order,
)


def _line(effective: list[float]) -> np.ndarray:
    count = len(effective)
    return np.eye(count, k=-1)


def one_line(effective: Sequence[float]) -> PedigreeDrift:
    """Drift of lots each grown from the one before, of which the first is the founder."""
    numbers = np.array([np.nan, *effective])
    return pedigree_drift(_line(list(numbers)), numbers)


def kept(effective: Sequence[float]) -> float:
    return float(one_line(effective).kept[-1])


def harmonic_mean(numbers: Sequence[float]) -> float:
    return float(1.0 / np.mean(1.0 / np.array(numbers)))


sizes = st.lists(st.floats(1.0, 1000.0), min_size=1, max_size=12)


@pytest.mark.parametrize(
    ("numbers", "printed"),
    [
        # "Effective population size", encyclopaedia article after Karlin 1968, American
        # Naturalist 102:443-455 (read): 30.8
        ((10, 100, 50, 80, 20, 500), 30.8),
        # Holsinger 2008, lecture notes on drift (read for the setting); result 92 as printed in
        # "Effective Population Size: Bottlenecks", Nature in Code (read)
        ((1000,) * 9 + (10,), 92),
        # lecture notes on a moth colony studied by Ford (read): 5374
        ((11000, 2000, 11000, 16000), 5374),
        # Hartl & Clark, Principles of Population Genetics (from memory): 29.4
        ((1000, 10, 1000), 29.4),
    ],
)
def test_the_harmonic_mean_of_printed_examples(numbers, printed):
    assert one_line(numbers).effective_number[-1] == pytest.approx(printed, rel=0.03)


def test_four_plants_once_leave_seven_eighths():
    # Inouye, BSCI 363 lecture slide "population bottlenecks" (read): Ne 4, one generation, 7/8
    assert kept([4.0]) == 7 / 8
    assert one_line([4.0]).inbreeding[-1] == 1 / 8


def test_selfing_halves_the_number_at_most_and_no_selfing_leaves_it():
    # Falconer & Mackay 1996 (from memory): F = s/(2 - s), Ne = N/(1 + F)
    assert effective_with_selfing(20.0, [0.0, 0.5, 1.0]).tolist() == [20.0, 15.0, 10.0]


@pytest.mark.parametrize(("plants", "start"), [(1, 0.5), (3, 1 / 3), (10, 0.3)])
def test_one_generation_is_exactly_what_binomial_sampling_of_genes_expects(plants, start):
    copies = np.arange(2 * plants + 1)
    next_share = copies / (2 * plants)
    weight = binom.pmf(copies, 2 * plants, start)
    expected = float(weight @ (2 * next_share * (1 - next_share)))
    now = 2 * start * (1 - start)
    assert now * kept([plants]) == pytest.approx(expected, rel=1e-12)


@given(sizes)
def test_a_constant_number_equal_to_the_harmonic_mean_loses_nearly_as_much(numbers):
    ne = harmonic_mean(numbers)
    exact = kept(numbers)
    # -log(1 - x) is convex: spreading the loss evenly never loses more.
    assert exact <= (1 - 1 / (2 * ne)) ** len(numbers) + 1e-12


def test_heterozygosity_falls_as_in_simulated_drift():
    rng = np.random.default_rng(7)
    plan, loci = (12, 6, 25, 8), 100_000
    share = np.full(loci, 0.4)
    for plants in plan:
        share = rng.binomial(2 * plants, share) / (2 * plants)
    left = 2 * share * (1 - share) / (2 * 0.4 * 0.6)
    error = left.std() / np.sqrt(loci)
    assert abs(left.mean() - kept(plan)) < 3 * error


@pytest.mark.parametrize("selfed", [0.0, 0.5, 0.9])
def test_gene_diversity_falls_under_partial_selfing_as_in_a_simulation(selfed):
    rng = np.random.default_rng(11)
    runs, plants, settle, more = 12_000, 24, 8, 12
    genes = (rng.random((runs, plants, 2)) < 0.5).astype(np.int8)
    rows = np.arange(runs)[:, None]
    diversity = {}
    for generation in range(1, settle + more + 1):
        mother = rng.integers(0, plants, (runs, plants))
        other = rng.integers(0, plants, (runs, plants))
        father = np.where(rng.random((runs, plants)) < selfed, mother, other)
        seed = [
            genes[rows, parent, rng.integers(0, 2, (runs, plants))] for parent in (mother, father)
        ]
        genes = np.stack(seed, axis=-1)
        if generation in (settle, settle + more):
            share = genes.mean(axis=(1, 2))
            diversity[generation] = 2 * share * (1 - share)
    first, last = diversity[settle], diversity[settle + more]
    ratio = last.mean() / first.mean()
    error = (last - ratio * first).std() / np.sqrt(runs) / first.mean()
    expected = kept(np.full(more, effective_with_selfing(plants, selfed)))
    assert abs(ratio - expected) < 3 * error


def test_a_single_line_of_lots_loses_by_the_product_formula():
    effective = np.array([np.nan, 20.0, 5.0, 60.0])
    found = pedigree_drift(_line(list(effective)), effective)
    assert found.kept[0] == 1.0
    for lot in (1, 2, 3):
        assert found.kept[lot] == pytest.approx(np.prod(1 - 1 / (2 * effective[1 : lot + 1])))
    assert found.generations.tolist() == [0, 1, 2, 3]
    assert np.isnan(found.effective_number[0])
    assert kept([found.effective_number[3]] * 3) == pytest.approx(found.kept[3])
    assert found.effective_number[3] == pytest.approx(harmonic_mean(effective[1:]), rel=0.03)
    assert found.inbreeding == pytest.approx(1 - found.kept)


def test_a_mixed_pedigree_loses_as_in_genes_dropped_down_it():
    # 0, 1 founders; 2 from 0; 3 from 2 and 1; 4 from 3; 5 from 2; 6 from 4, 5 and 1, unevenly
    shares = np.zeros((7, 7))
    shares[2, 0] = 1.0
    shares[3, [2, 1]] = 0.5
    shares[4, 3] = shares[5, 2] = 1.0
    shares[6, [4, 5, 1]] = 0.5, 0.3, 0.2
    effective = np.array([np.nan, np.nan, 4.0, 6.0, 5.0, 3.0, 8.0])
    found = pedigree_drift(shares, effective)
    rng = np.random.default_rng(5)
    alike = np.zeros((3_000, 7))
    for run in range(alike.shape[0]):
        pool: dict[int, np.ndarray] = {}
        fresh = iter(range(10_000))
        for lot in range(2, 7):
            stems = rng.choice(7, int(2 * effective[lot]), p=shares[lot])
            pool[lot] = np.array([rng.choice(pool[s]) if s in pool else next(fresh) for s in stems])
            _, copies = np.unique(pool[lot], return_counts=True)
            alike[run, lot] = ((copies / copies.sum()) ** 2).sum()
    mean, error = alike.mean(axis=0), alike.std(axis=0) / np.sqrt(alike.shape[0])
    assert np.all(np.abs(mean - found.inbreeding)[2:] <= 3 * error[2:] + 1e-12)


def test_mixing_two_lines_brings_diversity_back_and_one_line_alone_never_does():
    shares = np.zeros((5, 5))
    shares[2, 0] = shares[3, 1] = 1.0
    shares[4, [2, 3]] = 0.5
    mixed = pedigree_drift(shares, np.array([np.nan, np.nan, 3.0, 3.0, np.inf]))
    assert mixed.kept[2] == mixed.kept[3] == pytest.approx(5 / 6)
    assert mixed.kept[4] == pytest.approx(1 - (1 / 6) / 2)
    # Mixing seed is no generation.
    assert mixed.generations[4] == 1.0


@given(st.lists(st.floats(1, 100), min_size=2, max_size=10), st.integers(0, 2**16))
def test_mixing_descendants_of_one_founder_never_exceeds_what_the_founder_held(numbers, seed):
    rng = np.random.default_rng(seed)
    count = len(numbers)
    shares = np.tril(rng.random((count, count)) * (rng.random((count, count)) < 0.6), -1)
    shares[1:, 0] += 0.01
    shares[1:] /= shares[1:].sum(axis=1, keepdims=True)
    found = pedigree_drift(shares, np.array(numbers))
    assert np.all((found.kept > 0.0) & (found.kept <= 1.0))
    assert np.all(found.kinship == found.kinship.T)
    assert np.linalg.eigvalsh(found.kinship).min() > -1e-12
    # More parents at every step never lose more.
    assert np.all(pedigree_drift(shares, 2 * np.array(numbers)).kept >= found.kept - 1e-15)


def test_uncounted_parents_are_said_and_only_lift_what_seems_kept():
    counted = pedigree_drift(_line([1, 2, 3]), np.array([np.nan, 10.0, 10.0]))
    partly = pedigree_drift(_line([1, 2, 3]), np.array([np.nan, np.nan, 10.0]))
    assert partly.unknown_steps.tolist() == [0.0, 1.0, 1.0]
    assert partly.kept[2] > counted.kept[2]
    nothing = pedigree_drift(_line([1, 2]), np.array([np.nan, np.nan]))
    assert nothing.effective_number[1] == np.inf


def test_lots_are_put_after_their_parents_with_equal_shares():
    order, shares = pedigree_order({"d": ["b", "c"], "b": ["a"], "c": ["a"], "e": ["d", "x", "x"]})
    place = {lot: number for number, lot in enumerate(order)}
    assert set(order) == set("abcdex")
    assert np.all(np.triu(shares) == 0.0)
    assert shares[place["d"], place["b"]] == shares[place["d"], place["c"]] == 0.5
    assert shares[place["e"], place["x"]] == 0.5
    assert shares[place["a"]].sum() == 0.0


@given(st.dictionaries(st.integers(0, 30), st.lists(st.integers(0, 30), max_size=4), max_size=25))
def test_any_pedigree_without_a_circle_is_ordered_and_any_circle_refused(parents):
    older = {lot: [stem for stem in stems if stem > lot] for lot, stems in parents.items()}
    order, shares = pedigree_order(older)
    assert np.all(np.triu(shares) == 0.0)
    assert len(set(order)) == len(order)
    pedigree_drift(shares, np.full(len(order), 10.0))
    reach = {lot: set(stems) for lot, stems in parents.items()}
    for _ in range(31):
        for found in reach.values():
            found |= {far for near in found for far in reach.get(near, ())}
    if any(lot in found for lot, found in reach.items()):
        with pytest.raises(ValueError, match="descends from itself"):
            pedigree_order(parents)
    else:
        pedigree_order(parents)


def test_a_long_line_is_ordered_without_running_out_of_depth():
    order, shares = pedigree_order({n: [n + 1] for n in range(3000)})
    assert order[0] == 3000
    assert shares[1:].sum() == 3000


@pytest.mark.parametrize(
    ("shares", "effective", "fault"),
    [
        ([[0, 1], [0, 0]], [5, 5], "after its parents"),
        ([[0, 0], [-1, 0]], [5, 5], "after its parents"),
        ([[0, 0], [0.7, 0]], [5, 5], "sum to 1"),
        ([[0, 0], [1, 0]], [5, 0.2], "half or more"),
        ([[0, 0], [1, 0]], [5], "square"),
    ],
)
def test_a_pedigree_that_cannot_be_is_refused(shares, effective, fault):
    with pytest.raises(ValueError, match=fault):
        pedigree_drift(np.array(shares, dtype=float), np.array(effective, dtype=float))


def test_impossible_numbers_are_refused():
    with pytest.raises(ValueError, match="above 0"):
        effective_with_selfing(0.0, 0.5)
    with pytest.raises(ValueError, match="share selfed"):
        effective_with_selfing(5, 1.2)


def _codes(*args: object) -> list[str]:
    return [caution.code for caution in drift_cautions(*args)]


def test_an_outcrosser_on_too_few_parents_is_warned_of_weakness_a_selfer_only_told():
    assert _codes(Mating.OUTCROSSING, 8, 20, 60.0, 0.99) == ["too-few-parents"]
    assert _codes(Mating.SELFING, 8, 20, 4.0, 0.99) == ["few-parents"]
    assert _codes(Mating.OUTCROSSING, 20, 20, 50.0, 0.99) == []
    assert _codes(Mating.OUTCROSSING, None, 20, np.nan, 1.0, 1.0) == ["parents-uncounted"]


def test_inbreeding_is_warned_of_under_fifty_and_loss_from_a_tenth():
    # Franklin 1980 (from memory): 50 holds inbreeding to 1 % a generation.
    (caution,) = drift_cautions(Mating.OUTCROSSING, 30, 20, 49.9, 0.95)
    assert caution.code == "inbreeding"
    assert "1 % each time" in text_of(caution)
    assert _codes(Mating.MIXED, 30, 20, 60.0, 0.9) == ["diversity-lost"]
    assert _codes(Mating.MIXED, 30, 20, 60.0, 0.901) == []
    (selfer,) = drift_cautions(Mating.SELFING, 30, 20, 10.0, 0.5)
    assert "another keeper" not in text_of(selfer)
