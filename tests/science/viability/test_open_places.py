"""Whether sealed places close, against sums over every combination of them and of keeping."""

from itertools import product

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.special import log_ndtr, logsumexp

from seedbank.science.shared_effects import REACH_SD, SharedEffects
from seedbank.science.viability.circumstances import OPEN_CHANCE
from seedbank.science.viability.evidence import Observations
from seedbank.science.viability.open_places import LearnedPlaces, StateEvidence, learn_places
from seedbank.science.viability.posterior import Priors
from seedbank.science.viability.shared_keeping import evidence_by_state

Floats = NDArray[np.float64]
# Two lots in place 7, a third first in 9 and then in 7: dose with all closed, 7 open, 9 open, both.
PLACE = np.array([[7, 0], [7, 0], [7, 9]])
DOSE = np.array([[0.1, 1.2, 0.1, 1.2], [0.2, 1.6, 0.2, 1.6], [0.2, 0.9, 0.8, 1.5]])
SEEDS, MEAN, SD = 20.0, 1.5, 0.4


def learned(viable: Floats, shared_sd: float, own_sd: float) -> LearnedPlaces:
    lots = np.arange(3)
    effects = SharedEffects(
        np.zeros((3, 1), dtype=np.int64),
        np.ones((3, 1)),
        np.array([shared_sd**2]),
        np.full(3, own_sd),
    )
    sd = np.sqrt(effects.prior_variance)
    priors = Priors(np.full(3, MEAN), np.full(3, SD), sd)
    seeds = np.full((3, 1), SEEDS)
    tests = Observations.of_tests(DOSE[:, None, :], viable[:, None], seeds, np.zeros((3, 1)))
    tests = tests.weighed(np.where(PLACE[:, 1:] > 0, 1.0, [1.0, 1.0, 0.0, 0.0]))
    state = np.broadcast_to(np.arange(4), (3, 4))
    values = evidence_by_state(priors, tests, state, 4)
    return learn_places(effects.take(lots), StateEvidence(REACH_SD * sd, values, PLACE))


def enumerated(viable: Floats, shared_sd: float, own_sd: float) -> Floats:
    """Chance that 7, and that 9, is open, from every state with all else on grids."""
    shared = np.linspace(-6.0, 6.0, 121) * shared_sd
    own = np.linspace(-6.0, 6.0, 81) * own_sd
    k = MEAN + SD * np.linspace(-6.0, 6.0, 161)
    weights = {}
    for seven, nine in product((0, 1), repeat=2):
        log_chance = -0.5 * (shared / shared_sd) ** 2
        for lot in range(3):
            dose = DOSE[lot, seven + 2 * nine]
            lam = shared[:, None, None] + own[None, :, None]
            v = k - np.exp(-lam) * dose
            value = viable[lot] * log_ndtr(v) + (SEEDS - viable[lot]) * log_ndtr(-v)
            value += -0.5 * ((k - MEAN) / SD) ** 2 - 0.5 * (own[None, :, None] / own_sd) ** 2
            log_chance = log_chance + logsumexp(value, axis=(1, 2))
        prior = np.prod([OPEN_CHANCE if one else 1.0 - OPEN_CHANCE for one in (seven, nine)])
        weights[seven, nine] = np.log(prior) + logsumexp(log_chance)
    whole = logsumexp(list(weights.values()))
    first = logsumexp([weights[1, 0], weights[1, 1]])
    second = logsumexp([weights[0, 1], weights[1, 1]])
    return np.exp(np.array([first, second]) - whole)


def chances(found: LearnedPlaces) -> Floats:
    return found.chance(np.array([[7, 9]]), np.zeros((1, 2)))[0]


COUNTS = [[19.0, 18.0, 19.0], [8.0, 6.0, 17.0], [14.0, 9.0, 4.0], [17.0, 17.0, 3.0], [0, 0, 0]]


@pytest.mark.parametrize("viable", COUNTS)
def test_places_are_as_likely_open_as_every_combination_says(viable: list[float]) -> None:
    counts = np.array(viable)
    found = learned(counts, 1e-3, 0.5)  # nothing shared: the sums are exact
    assert chances(found) == pytest.approx(enumerated(counts, 1e-3, 0.5), abs=1e-3)


@pytest.mark.parametrize("viable", COUNTS)
def test_so_nearly_where_lots_share_how_they_keep(viable: list[float]) -> None:
    counts = np.array(viable)
    found = learned(counts, 0.4, 0.4)
    seven, nine = np.abs(chances(found) - enumerated(counts, 0.4, 0.4))
    assert seven < 0.005
    assert nine < 0.15  # by one lot, and that lay in both


def test_bad_tests_of_others_make_a_place_suspect_and_good_ones_clear_it() -> None:
    clear, suspect = (chances(learned(np.array(v), 0.3, 0.3)) for v in (COUNTS[0], COUNTS[1]))
    assert clear[0] < OPEN_CHANCE < suspect[0]
    unknown = learned(np.array(COUNTS[0]), 0.3, 0.3)
    assert unknown.chance(np.array([[11, 0]]), np.zeros((1, 2)))[0] == pytest.approx(
        [OPEN_CHANCE, 0.0]
    )


def test_what_a_lot_said_itself_is_taken_out_for_it() -> None:
    found = learned(np.array([8.0, 6.0, 17.0]), 0.3, 0.3)
    others = found.chance(PLACE, found.told)
    assert others[0, 0] < chances(found)[0]
    assert others[0, 1] == 0.0


def test_factors_of_an_earlier_fit_change_no_answer() -> None:
    counts = np.array(COUNTS[2])
    once = learned(counts, 0.4, 0.4)
    assert len(once.rounds) == 2
    again = learn_places(
        SharedEffects(
            np.zeros((3, 1), dtype=np.int64), np.ones((3, 1)), np.array([0.16]), np.full(3, 0.4)
        ),
        _evidence(counts),
        once.rounds,
    )
    assert again.log_odds == pytest.approx(once.log_odds, abs=1e-5)
    assert again.learned.mean == pytest.approx(once.learned.mean, abs=1e-5)


def _evidence(viable: Floats) -> StateEvidence:
    sd = np.full(3, np.sqrt(0.32))
    priors = Priors(np.full(3, MEAN), np.full(3, SD), sd)
    tests = Observations.of_tests(
        DOSE[:, None, :], viable[:, None], np.full((3, 1), SEEDS), np.zeros((3, 1))
    ).weighed(np.where(PLACE[:, 1:] > 0, 1.0, [1.0, 1.0, 0.0, 0.0]))
    state = np.broadcast_to(np.arange(4), (3, 4))
    return StateEvidence(REACH_SD * sd, evidence_by_state(priors, tests, state, 4), PLACE)
