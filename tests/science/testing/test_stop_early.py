"""Checks of the stop-early rule: paths walked one by one, the convolution, and calibration."""

from itertools import product

import numpy as np
import pytest
from scipy.special import ndtr, ndtri

from seedbank.science.quantities import ProbitNodes
from seedbank.science.testing.sequential import stop_early
from tests.science.testing.staircase_plans import SequentialPlan, exact_operating_curve
from tests.science.testing.two_actions import keep_or_regenerate_losses

VIABILITY = np.array([[0.2, 0.45, 0.6, 0.75, 0.85, 0.95]])
WEIGHT = np.array([[0.1, 0.1, 0.2, 0.2, 0.2, 0.2]])
NODES = ProbitNodes(ndtri(VIABILITY), WEIGHT)
LOSSES = keep_or_regenerate_losses(NODES, np.array([0.7]), np.array([1.0]), np.array([1.0]))


def test_two_actions_give_a_staircase_whose_convolution_has_the_same_error_rates():
    rule = stop_early(NODES, LOSSES, 0.92, 5, 60)
    rows = []
    for stage, seeds in enumerate(rule.tested.tolist()):
        if not seeds:
            assert not rule.stop[0, 0, 0]
            continue
        stop, action = (x[0, stage, : seeds + 1] for x in (rule.stop, rule.action))
        renew, keep = np.flatnonzero(stop & (action == 1)), np.flatnonzero(stop & (action == 0))
        rows.append((seeds, renew.max(initial=-1), keep.min(initial=seeds + 1)))
    curve = exact_operating_curve(SequentialPlan.from_rows(rows), VIABILITY[0])
    wrong = np.where(VIABILITY[0] < 0.7, curve.keep, curve.regenerate)
    assert rule.wrong_at_node[0] == pytest.approx(wrong, abs=1e-12)
    assert rule.right[0] == pytest.approx(1 - WEIGHT[0] @ wrong, abs=1e-12)
    assert rule.mean_seeds[0] == pytest.approx(WEIGHT[0] @ curve.mean_seeds, abs=1e-10)
    assert rule.stopping[0, 1:] == pytest.approx(WEIGHT[0] @ curve.stopping, abs=1e-12)


def test_patchy_seed_followed_down_every_path_gives_the_same_answer():
    rho, p = 0.2, ndtr(NODES.probit[0])
    rule = stop_early(NODES, LOSSES, 0.8, 3, 9, rho)
    wrong, mean = np.zeros(p.size), 0.0
    for path in product((0, 1), repeat=9):
        chance = np.ones(p.size)
        for i, seed in enumerate(path):  # an urn: seed i + 1 given those before it
            up = (p * (1 - rho) + sum(path[:i]) * rho) / (1 - rho + i * rho)
            chance *= up if seed else 1 - up
        for stage, seeds in enumerate(rule.tested.tolist()):
            k = sum(path[:seeds])
            if rule.stop[0, stage, k]:
                truly_low = VIABILITY[0] < 0.7
                wrong += chance * (truly_low != (rule.action[0, stage, k] == 1))
                mean += WEIGHT[0] @ chance * seeds
                break
    assert rule.wrong_at_node[0] == pytest.approx(wrong, abs=1e-12)
    assert rule.mean_seeds[0] == pytest.approx(mean, abs=1e-12)


@pytest.mark.parametrize("confidence", [0.8, 0.9, 0.97])
def test_tests_that_stop_early_are_right_at_least_as_often_as_promised(confidence):
    rule = stop_early(NODES, LOSSES, confidence, 10, 100)
    assert rule.right_when_early[0] >= confidence - 1e-12
    assert rule.stopping.sum() == pytest.approx(1, abs=1e-12)
    assert 0 < rule.mean_seeds[0] < 100


def test_asking_to_be_surer_costs_more_seed_and_makes_fewer_errors():
    rules = [stop_early(NODES, LOSSES, c, 10, 100) for c in (0.7, 0.85, 0.95)]
    assert np.all(np.diff([rule.mean_seeds[0] for rule in rules]) > 0)
    assert np.all(np.diff([rule.right[0] for rule in rules]) > 0)


def test_a_lot_already_sure_enough_is_not_tested_at_all():
    rule = stop_early(NODES, LOSSES, 0.55, 10, 50)
    assert rule.stop[0, 0, 0]
    assert rule.mean_seeds[0] == 0
    assert rule.right[0] == pytest.approx(0.6)


def test_a_rule_that_can_never_be_sure_enough_runs_to_the_end_and_says_so():
    same = ProbitNodes(ndtri(np.array([[0.699, 0.701]])), np.array([[0.5, 0.5]]))
    losses = keep_or_regenerate_losses(same, np.array([0.7]), np.array([1.0]), np.array([1.0]))
    rule = stop_early(same, losses, 0.9, 10, 30)
    assert rule.mean_seeds[0] == pytest.approx(30)
    assert np.isnan(rule.right_when_early[0])
    assert rule.right[0] == pytest.approx(0.5, abs=0.02)


def test_confidence_and_sizes_out_of_range_are_refused():
    with pytest.raises(ValueError, match="confidence"):
        stop_early(NODES, LOSSES, 0.0, 5, 20)
    with pytest.raises(ValueError, match="group"):
        stop_early(NODES, LOSSES, 0.9, 30, 20)
