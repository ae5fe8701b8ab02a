"""Checks of test sizes: beta-binomial closed form, brute-force Bayes, and the laws of value."""

import mpmath as mp
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import quad
from scipy.special import ndtr, ndtri, roots_sh_jacobi
from scipy.stats import betabinom, norm

from seedbank.common.catalogue import text_of
from seedbank.science.quantities import ProbitNodes
from seedbank.science.testing.test_plan import (
    SIZES,
    SeedBudget,
    equal_weight_nodes,
    plan_test,
    screen_tests,
)
from tests.science.testing.two_actions import keep_or_regenerate_losses


def budget(balance=1e6, reserve=0.0, seed=0.0, test=0.0, each=0.0, lots=1) -> SeedBudget:
    return SeedBudget(*(np.full(lots, float(x)) for x in (balance, reserve, seed, test, each)))


def beta_nodes(a: float, b: float, count: int = 64) -> ProbitNodes:
    """Gauss-Jacobi nodes: exact for every polynomial in p up to degree 2 count - 1."""
    p, weight = roots_sh_jacobi(count, a + b - 1, a)
    return ProbitNodes(ndtri(p)[None], (weight / weight.sum())[None])


def linear_losses(nodes: ProbitNodes, sow: float, renew: float):
    p = ndtr(nodes.probit)
    return np.stack([sow * (1 - p), renew * p], axis=1)


@pytest.mark.parametrize(("a", "b", "sow", "renew"), [(4, 2, 3.0, 1.0), (1, 1, 1, 1), (9, 3, 5, 2)])
def test_a_beta_prior_with_straight_losses_matches_the_beta_binomial_closed_form(a, b, sow, renew):
    # Raiffa & Schlaifer 1961, ch. 9 (from memory): counts are beta-binomial and the posterior
    # mean is (a + k) / (a + b + n).
    nodes = beta_nodes(a, b)
    table = plan_test(nodes, linear_losses(nodes, sow, renew), budget())
    mean = a / (a + b)
    now = min(sow * (1 - mean), renew * mean)
    for at, n in enumerate(table.sizes.tolist()):
        k = np.arange(n + 1)
        posterior = (a + k) / (a + b + n)
        chance = betabinom.pmf(k, n, a, b)
        loss = chance @ np.minimum(sow * (1 - posterior), renew * posterior)
        assert table.expected_loss[0, at] == pytest.approx(loss, abs=1e-10)
        assert table.value[0, at] == pytest.approx(now - loss, abs=1e-10)
        stay = sow * (1 - posterior) if now == sow * (1 - mean) else renew * posterior
        moved = stay > np.minimum(sow * (1 - posterior), renew * posterior) + 1e-8
        assert table.changes[0, at] == pytest.approx(chance[moved].sum(), abs=1e-10)


def test_three_actions_with_patchy_tests_match_brute_force_bayes_in_50_digits():
    p, weight = [0.2, 0.55, 0.7, 0.93], [0.1, 0.3, 0.35, 0.25]
    losses = [[9, 4, 1, 0], [3, 2, 3, 4], [5, 5, 5, 1]]
    n, rho = 12, 0.1
    with mp.workdps(50):
        counts = [
            [
                mp.binomial(n, k)
                * mp.beta(k + q * 9, n - k + (1 - q) * 9)
                / mp.beta(q * 9, 9 - q * 9)
                for k in range(n + 1)
            ]
            for q in map(mp.mpf, map(str, p))
        ]  # (1 - rho) / rho = 9
        after = right = mp.mpf(0)
        for k in range(n + 1):
            joint = [w * c[k] for w, c in zip(weight, counts, strict=True)]
            per = [sum(x * j for x, j in zip(row, joint, strict=True)) for row in losses]
            act = per.index(min(per))
            after += per[act]
            right += sum(
                j for i, j in enumerate(joint) if losses[act][i] == min(row[i] for row in losses)
            )
    nodes = ProbitNodes(ndtri(np.array([p])), np.array([weight]))
    table = plan_test(nodes, np.array([losses], dtype=float), budget(), [n], rho)
    assert table.expected_loss[0, 1] == pytest.approx(float(after), abs=1e-12)
    assert table.right[0, 1] == pytest.approx(float(right), abs=1e-12)


problems = st.integers(0, 2**32 - 1)


def random_problem(seed: int):
    rng = np.random.default_rng(seed)
    probit = rng.normal(0.5, 1.2, (3, 8))
    nodes = ProbitNodes(probit, rng.dirichlet(np.ones(8), 3))
    return nodes, rng.uniform(0, 10, (3, 3, 8)), rng.choice([0.0, 0.02, 0.2])


@given(problems)
@settings(deadline=None, max_examples=60)
def test_a_test_is_worth_at_least_nothing_more_with_size_and_never_more_than_knowing(seed):
    nodes, losses, rho = random_problem(seed)
    table = plan_test(nodes, losses, budget(lots=3), overdispersion=rho)
    assert np.all(table.value >= 0)
    assert np.all(np.diff(table.value, axis=1) >= -1e-12)
    assert np.all(table.value <= table.perfect_information[:, None] + 1e-12)
    assert np.all((table.changes >= 0) & (table.changes <= 1 + 1e-12))
    assert np.all((table.right >= 0) & (table.right <= 1 + 1e-12))


@given(problems)
@settings(deadline=None, max_examples=30)
def test_screening_many_lots_gives_what_the_full_table_gives_each(seed):
    nodes, losses, rho = random_problem(seed)
    table = plan_test(nodes, losses, budget(lots=3), overdispersion=rho)
    screening = screen_tests(nodes, losses, 20, rho)
    at = table.sizes.tolist().index(20)
    assert screening.test == pytest.approx(table.value[:, at], abs=1e-12)
    assert screening.changes == pytest.approx(table.changes[:, at], abs=1e-12)
    assert screening.perfect_information == pytest.approx(table.perfect_information, abs=1e-12)


def test_a_very_large_test_is_worth_nearly_as_much_as_knowing():
    nodes = ProbitNodes(ndtri(np.array([[0.3, 0.6, 0.9]])), np.array([[0.3, 0.3, 0.4]]))
    losses = np.array([[[5.0, 2.0, 0.0], [1.0, 1.0, 1.0]]])
    table = plan_test(nodes, losses, budget(), [2000])
    assert table.value[0, 1] == pytest.approx(table.perfect_information[0], abs=1e-9)
    assert table.right[0, 1] == pytest.approx(1.0, abs=1e-9)


def doubtful_lot():
    nodes = equal_weight_nodes(norm.ppf((np.arange(16) + 0.5) / 16, 0.5, 0.8)[None])
    twenty, five = np.array([20.0]), np.array([5.0])
    return nodes, keep_or_regenerate_losses(nodes, np.array([0.7]), twenty, five)


def test_plentiful_seed_of_a_doubtful_lot_is_tested_and_dearer_seed_is_tested_less():
    nodes, losses = doubtful_lot()
    costs = [0.0, 0.005, 0.02, 0.1, 1.0]
    spent = [int(plan_test(nodes, losses, budget(300, 0, c)).seeds()[0]) for c in costs]
    assert spent == sorted(spent, reverse=True)
    assert spent[0] == max(SIZES)
    assert 0 < spent[1] < 100
    assert spent[-1] == 0


def test_free_seed_is_still_never_taken_from_the_reserve():
    nodes, losses = doubtful_lot()
    table = plan_test(nodes, losses, budget(balance=48, reserve=20))
    assert table.seeds().tolist() == [25]
    assert np.all(np.isinf(table.cost[0, table.sizes > 28]))
    none = plan_test(nodes, losses, budget(balance=24, reserve=20))
    assert none.seeds().tolist() == [0]
    assert none.reasons(0)[0].code == "no-seed-to-spare"
    assert "sow all of it" in text_of(none.reasons(0)[0])


def test_a_lot_whose_answer_is_already_known_is_not_tested_and_the_reason_says_so():
    nodes = ProbitNodes(np.array([[2.0, 2.2]]), np.array([[0.5, 0.5]]))
    losses = keep_or_regenerate_losses(nodes, *(np.array([x]) for x in (0.7, 20.0, 5.0)))
    table = plan_test(nodes, losses, budget())
    assert table.perfect_information[0] == 0
    assert table.seeds().tolist() == [0]
    assert [reason.code for reason in table.reasons(0)] == ["nothing-to-learn", "sure-enough"]


def test_a_test_dearer_than_its_worth_is_refused_with_both_figures():
    nodes, losses = doubtful_lot()
    first = plan_test(nodes, losses, budget(60, 10, 5.0)).reasons(0)[0]
    assert first.code == "not-worth-its-seed"
    assert first.numbers["cost"] > first.numbers["value"] > 0


def test_a_recommended_test_gives_its_worth_its_cost_and_how_much_surer_one_gets():
    nodes, losses = doubtful_lot()
    table = plan_test(nodes, losses, budget(300, 0, 0.02))
    worth, surer = table.reasons(0)
    assert worth.numbers["seeds"] == table.seeds()[0]
    assert worth.numbers["value"] > worth.numbers["cost"]
    assert f"{worth.numbers['seeds']:.0f} seeds" in text_of(worth)
    assert 0 < surer.numbers["right_now"] < 1


def test_the_cost_of_seeds_is_the_integral_of_a_price_rising_as_stock_shrinks():
    cost = budget(50, 10, 0.3, 2.0, 0.1).cost(np.array([0.0, 15.0, 40.0]))[0]
    for seeds, found in zip((15, 40), cost[1:], strict=True):
        price = quad(lambda x: 0.3 * 41 / (41 - x), 0, seeds)[0]
        assert found == pytest.approx(price + 2.0 + 0.1 * seeds)
    assert cost[0] == 0


def test_losses_of_the_wrong_shape_are_refused():
    nodes, losses = doubtful_lot()
    with pytest.raises(ValueError, match="shape"):
        plan_test(nodes, losses[:, :, :3], budget())


@pytest.mark.parametrize(
    ("probit", "doing"), [(1.5, "Relying on it for another season"), (-1.0, "Not relying on it")]
)
def test_what_one_would_do_now_is_named(probit: float, doing: str) -> None:
    nodes = ProbitNodes(np.array([[probit - 0.3, probit + 0.3]]), np.full((1, 2), 0.5))
    losses = keep_or_regenerate_losses(nodes, np.array([0.6]), np.ones(1), np.full(1, 0.05))
    said = plan_test(nodes, losses, budget()).reasons(0)
    assert any(
        text.startswith(doing) and "is right with probability" in text
        for text in map(text_of, said)
    )
