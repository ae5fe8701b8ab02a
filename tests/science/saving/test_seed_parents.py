"""Plants to start for seed parents, against exact moments, closed moments and simulation."""

import mpmath
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import binom

from seedbank.facts import loaders
from seedbank.science.saving.seed_parents import (
    ParentLosses,
    parent_nodes,
    parents_outlook,
    plants_to_start,
    survival_nodes,
    usual_losses,
)
from seedbank.science.sowing.emergence import BetaShare, ShiftLaw, WeightedNodes, emergence_nodes

NO_LOSSES = ParentLosses()
LOSSES = ParentLosses(BetaShare(2.0, 14.0), BetaShare(1.5, 8.5), BetaShare(1.0, 9.0))


def _sure(chance: float) -> WeightedNodes:
    return WeightedNodes(np.array([chance]), np.ones(1))


def _lot(mean: float = 1.0, sd: float = 0.4) -> WeightedNodes:
    point, weight = np.polynomial.hermite_e.hermegauss(21)
    return WeightedNodes(mean + sd * point, weight / weight.sum())


def test_without_losses_and_with_known_emergence_it_is_a_plain_binomial():
    need = plants_to_start(20, _sure(0.8), NO_LOSSES, 0.95)
    assert binom.sf(19, need.seeds, 0.8) >= 0.95 > binom.sf(19, need.seeds - 1, 0.8)
    assert need.reached == pytest.approx(binom.sf(19, need.seeds, 0.8), abs=1e-12)
    assert need.plants == 20
    assert need.attained


def test_the_fewest_seeds_are_those_found_from_the_exact_moments_of_the_betas():
    emergence = WeightedNodes(np.array([0.4, 0.6, 0.85]), np.array([0.2, 0.3, 0.5]))
    shares = (LOSSES.growing, LOSSES.winter, LOSSES.rogued)

    def moment(j: int) -> mpmath.mpf:
        """E p^j in closed form: emergence is a sum, each 1 - loss a beta."""
        pairs = zip(emergence.weight, emergence.value, strict=True)
        risen = mpmath.fsum(mpmath.mpf(w) * mpmath.mpf(e) ** j for w, e in pairs)
        return risen * mpmath.fprod(
            mpmath.rf(s.beta, j) / mpmath.rf(mpmath.mpf(s.alpha) + s.beta, j) for s in shares
        )

    def reached(seeds: int, parents: int) -> float:
        # P(at least k of n) as an alternating sum of factorial moments; Feller 1968, An
        # Introduction to Probability Theory, vol. 1, IV.5 (from memory).
        with mpmath.workdps(80):
            return float(
                mpmath.fsum(
                    (-1) ** (j - parents)
                    * mpmath.binomial(j - 1, parents - 1)
                    * mpmath.binomial(seeds, j)
                    * moment(j)
                    for j in range(parents, seeds + 1)
                )
            )

    need = plants_to_start(12, emergence, LOSSES, 0.9)
    assert need.reached == pytest.approx(reached(need.seeds, 12), abs=1e-7)
    assert reached(need.seeds, 12) >= 0.9 > reached(need.seeds - 1, 12)


def test_nodes_of_the_parents_share_keep_mean_and_variance_of_the_product_of_betas():
    nodes = survival_nodes(LOSSES)
    shares = [LOSSES.growing, LOSSES.winter, LOSSES.rogued]
    mean = np.prod([1 - s.mean for s in shares])
    second = np.prod(
        [
            s.beta * (s.beta + 1) / ((s.alpha + s.beta) * (s.alpha + s.beta + 1))  # E (1 - L)^2
            for s in shares
        ]
    )
    assert nodes.mean == pytest.approx(mean, abs=1e-12)
    assert nodes.weight @ nodes.value**2 == pytest.approx(second, abs=1e-12)


def test_parents_kept_spread_as_in_a_simulation_of_whole_seasons():
    rng = np.random.default_rng(20)
    emergence = emergence_nodes(_lot(), ShiftLaw(0.3, 0.2))
    need = plants_to_start(10, emergence, LOSSES, 0.9)
    runs = 200_000
    left = np.ones(runs)
    for share in (LOSSES.growing, LOSSES.winter, LOSSES.rogued):
        left *= 1 - rng.beta(share.alpha, share.beta, runs)
    chance = rng.choice(emergence.value, runs, p=emergence.weight) * left
    kept = rng.binomial(need.seeds, np.clip(chance, 0, 1))
    error = np.sqrt(need.reached * (1 - need.reached) / runs)
    assert abs((kept >= 10).mean() - need.reached) < 3 * error
    assert abs(kept.mean() - need.kept.mean) < 3 * kept.std() / np.sqrt(runs)


def test_thirty_plants_of_a_biennial_leave_twenty_on_average_as_the_guides_say():
    # Packaged reproduction table, onion and leek: "grow 30 or more to keep 20".
    notes = {row.kind: row.notes for row in loaders.reproduction()}
    assert "30 or more" in notes["onion"]
    assert "30 or more" in notes["leek"]
    assert 30 * survival_nodes(usual_losses(True)).mean == pytest.approx(20.0, abs=1.0)
    assert plants_to_start(20, _sure(0.9), usual_losses(True), 0.9).plants > 30


def test_a_lot_too_small_is_sown_whole_and_its_chance_told():
    need = plants_to_start(20, _sure(0.8), NO_LOSSES, 0.95, available=22)
    assert not need.attained
    assert need.seeds == 22
    assert need.reached == pytest.approx(binom.sf(19, 22, 0.8))
    nothing = plants_to_start(20, _sure(0.8), NO_LOSSES, 0.95, available=0)
    assert (nothing.attained, nothing.seeds, nothing.reached) == (False, 0, 0.0)


def test_dead_seed_never_gives_a_parent_and_no_parents_need_no_seed():
    dead = plants_to_start(5, _sure(0.0), NO_LOSSES)
    assert (dead.attained, dead.reached) == (False, 0.0)
    none = plants_to_start(0, _sure(0.5), LOSSES)
    assert (none.attained, none.seeds, none.plants, none.reached) == (True, 0, 0, 1.0)


@settings(max_examples=40, deadline=None)
@given(st.integers(1, 40), st.floats(0.2, 0.95), st.floats(0.5, 0.95), st.floats(0.5, 4.0))
def test_more_parents_more_surety_or_more_loss_never_take_fewer_seeds(parents, e, sure, alpha):
    mild = ParentLosses(BetaShare(0.5, 10.0))
    # Adding to alpha raises the loss in the stochastic order.
    harsh = ParentLosses(BetaShare(0.5 + alpha, 10.0))
    base = plants_to_start(parents, _sure(e), mild, sure).seeds
    assert plants_to_start(parents + 1, _sure(e), mild, sure).seeds >= base
    assert plants_to_start(parents, _sure(e), mild, (1 + sure) / 2).seeds >= base
    assert plants_to_start(parents, _sure(e), harsh, sure).seeds >= base
    assert plants_to_start(parents, _sure(min(1.0, e + 0.05)), mild, sure).seeds <= base


def test_the_outlook_takes_each_year_for_itself_and_falls_as_seed_ages():
    years = [emergence_nodes(_lot(mean), ShiftLaw(0.3, 0.2)) for mean in (1.0, 0.6, -0.2)]
    outlook = parents_outlook(10, years, 40, LOSSES, 0.9)
    borne = ParentLosses(LOSSES.growing, None, LOSSES.rogued)
    for number, emergence in enumerate(years):
        chance = parent_nodes(emergence, borne)
        whole = float(chance.weight @ binom.sf(9, 40, chance.value))
        assert outlook.chance[number] == pytest.approx(whole, abs=1e-12)
        assert outlook.enough[number] == (whole >= 0.9)
        fewest = plants_to_start(10, emergence, borne, 0.9)
        assert outlook.seeds[number] == (fewest.seeds if whole >= 0.9 else -1)
    assert outlook.enough[0]
    assert not outlook.enough[2]
    assert np.all(np.diff(outlook.chance) < 0)
    assert outlook.flower_year.tolist() == [0, 1, 2]


def test_a_biennial_flowers_a_year_later_and_bears_the_winter():
    emergence = emergence_nodes(_lot(), ShiftLaw(0.3, 0.2))
    annual = parents_outlook(10, [emergence], 30, LOSSES, 0.9)
    biennial = parents_outlook(10, [emergence], 30, LOSSES, 0.9, biennial=True)
    assert biennial.flower_year.tolist() == [1]
    assert biennial.chance[0] < annual.chance[0]
    assert parent_nodes(emergence, LOSSES).mean == pytest.approx(
        emergence.mean * survival_nodes(LOSSES).mean, abs=1e-12
    )


@pytest.mark.parametrize(
    ("parents", "seeds", "confidence"), [(-1, 5, 0.9), (5, -1, 0.9), (5, 5, 1.0)]
)
def test_impossible_requests_are_refused(parents, seeds, confidence):
    with pytest.raises(ValueError, match=r"negative|confidence"):
        parents_outlook(parents, [_sure(0.5)], seeds, LOSSES, confidence)
